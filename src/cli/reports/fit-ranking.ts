/** Which voices are nearest to a recording in kind, and how the others differ. */

import type { Ranked, Ranking } from '../../fit/ranking.ts';
import { OTHER_KIND } from '../../measure/likeness/drum-kind.ts';
import { table, wrapped } from '../table.ts';
import { differenceWords, shortfallData } from './fit-shortfalls.ts';
import { kindData, kindWords } from './kind-words.ts';

/** As data. */
export function rankingData({ ranked, leftOut }: Ranking) {
  return {
    ranking: ranked.map(({ candidate, kind, fit }) => ({
      voice: candidate.name,
      patch: candidate.written.main,
      channel: candidate.channel?.name ?? null,
      kind: kindData(kind),
      distanceBefore: fit?.distanceBefore ?? null,
      distanceAfter: fit?.distanceAfter ?? null,
      shortfalls: shortfallData(fit?.shortfalls ?? [], undefined),
    })),
    leftOut,
  };
}

const EXPLAINED =
  'In the order of their kind of drum: by where the sound lies, its width, rise, fall and tone, as each voice is or up to twice as high, low, long or short; 1 is what a drum and a voice of its kind usually differ by. The nearest of them are fitted.';

/** What makes its kind differ; for a voice that was fitted, what it cannot reach. */
function keptApart({ kind, fit }: Ranked): string {
  const [apart] = kindWords(kind, 1);
  const [shortfall] = fit?.shortfalls ?? [];
  if (apart !== undefined && (kind.distance >= OTHER_KIND || shortfall === undefined)) return apart;
  return shortfall === undefined ? 'no more than chance' : differenceWords(shortfall);
}

/** As a table in words, the nearest first. */
export function rankingWords({ ranked, leftOut }: Ranking): string {
  const rows = ranked.map((one, index) => [
    `${index + 1}`,
    one.candidate.name,
    one.kind.distance.toFixed(2),
    one.fit === undefined ? '-' : `${one.fit.distanceAfter.toFixed(2)} dB`,
    one.fit === undefined ? '-' : `${one.fit.distanceBefore.toFixed(2)} dB`,
    keptApart(one),
  ]);
  const lines = leftOut.map(({ name, why }) => wrapped(`${name} is left out: ${why}`));
  return [
    table([
      ['', 'voice', 'kind', 'fitted', 'as it is', 'what keeps it from the recording'],
      ...rows,
    ]),
    wrapped(EXPLAINED),
    ...lines,
    '',
  ].join('\n');
}
