/** Which voices came nearest to a recording, and what keeps the others from it. */

import type { Ranking } from '../../fit/ranking.ts';
import { table, wrapped } from '../table.ts';
import { differenceWords, shortfallData } from './fit-shortfalls.ts';

/** As data. */
export function rankingData({ ranked, leftOut }: Ranking) {
  return {
    ranking: ranked.map(({ candidate, fit }) => ({
      voice: candidate.name,
      patch: candidate.written.main,
      channel: candidate.channel?.name ?? null,
      distanceBefore: fit.distanceBefore,
      distanceAfter: fit.distanceAfter,
      shortfalls: shortfallData(fit.shortfalls, undefined),
    })),
    leftOut,
  };
}

/** In words: a table, the nearest first. */
export function rankingWords({ ranked, leftOut }: Ranking): string {
  const rows = ranked.map(({ candidate, fit }, index) => [
    `${index + 1}`,
    candidate.name,
    `${fit.distanceAfter.toFixed(2)} dB`,
    `${fit.distanceBefore.toFixed(2)} dB`,
    fit.shortfalls[0] === undefined ? 'no more than chance' : differenceWords(fit.shortfalls[0]),
  ]);
  const lines = leftOut.map(({ name, why }) => wrapped(`${name} is left out: ${why}`));
  return [
    table([['', 'voice', 'fitted', 'as it is', 'what it cannot reach first'], ...rows]),
    ...lines,
    '',
  ].join('\n');
}
