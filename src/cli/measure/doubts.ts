/** Why figures of hits are unknown or in doubt: for each hit, what holds for all of them once, and the reasons in words. */

import type { Reason } from '../../measure/estimate.ts';

/** What a figure is called, and the reason; null for none. */
export type FigureDoubt = readonly [figure: string, reason: Reason | null];

const MEANINGS: { readonly [R in Reason]: string } = {
  silent: 'there is no sound',
  'too-short': 'too few samples, waves or decibels of fall to tell from',
  'noise-floor': 'the noise of the recording hides it',
  clipped: 'flat tops hide the peak that it counts from',
  coarse: "the recording's own steps are too coarse beside it",
  'cut-short': 'the next hit, or the end, comes first',
  'cut-start': 'the recording begins in the middle of the sound',
  'not-exponential': 'the fall is no straight line in dB',
  'no-decay': 'the sound does not fall',
  resolution: "faster than the sound's own waves can show, so it may be less",
  ambiguous: 'several pitches at once, of which this is the common period',
  noise: 'the wave does not repeat, as of noise',
  unsure: 'the sound wavers too much for a certain figure',
};

export interface DoubtsOfHits {
  /** For each hit what is its own, such as `T60, to -60 dB: noise-floor`; empty for nothing. */
  readonly cells: readonly string[];
  /** What holds for every one of several hits, in the same form. */
  readonly ofAll: string;
  readonly reasons: readonly Reason[];
}

/** @param hits the figures of each, in the same order. */
export function doubtsOfHits(hits: readonly (readonly FigureDoubt[])[]): DoubtsOfHits {
  const [first = [], ...others] = hits;
  const isShared = ([figure, reason]: FigureDoubt): boolean =>
    others.length > 0 &&
    reason !== null &&
    others.every((hit) => hit.some(([name, why]) => name === figure && why === reason));
  const shared = first.filter(isShared);
  const own = hits.map((hit) =>
    hit.filter(([figure]) => !shared.some(([name]) => name === figure)),
  );
  return {
    cells: own.map(byReason),
    ofAll: byReason(shared),
    reasons: hits.flat().flatMap(([, reason]) => reason ?? []),
  };
}

/** A line for each reason that is there. */
export function reasonsInWords(reasons: readonly Reason[]): readonly string[] {
  return [...new Set(reasons)].sort().map((reason) => `${reason}: ${MEANINGS[reason]}`);
}

function byReason(doubts: readonly FigureDoubt[]): string {
  const figures = new Map<Reason, string[]>();
  for (const [figure, reason] of doubts) {
    if (reason === null) continue;
    const named = figures.get(reason);
    if (named) named.push(figure);
    else figures.set(reason, [figure]);
  }
  return [...figures].map(([reason, names]) => `${names.join(', ')}: ${reason}`).join('; ');
}
