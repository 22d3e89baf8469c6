/**
 * Grids of steps in pairs, and the search for those that describe onsets in the fewest bits. The model
 * and its source are told in `tempo`.
 */

import { mean } from '../../mean.ts';

/** The search looks at so many onsets; the fit then goes through all of them. */
const SEARCHED = 48;
/** Pairs of steps, s: from sixteenths at 250 bpm to quarters at 60. */
const SHORTEST_PAIR = 0.12;
const LONGEST_PAIR = 2;
/** Off-steps from straight to a little past the triplet, as shares of a pair. */
const SHARES = [0.5, 0.52, 0.54, 0.56, 0.58, 0.6, 0.62, 0.64, 2 / 3, 0.68, 0.7];
/** How exactly hits are played and found: standard deviation, s, and where a hit is off the grid. */
export const SCATTER = 0.006;
export const TOLERANCE = 3 * SCATTER;
/** Bits for an onset that the grid does not explain: one in a thousand does not. */
export const STRAY_BITS = Math.log2(1000);
/** Bits for a swing: most patterns have none, and its amount must be described. */
export const SWING_BITS = 7;
/** How far behind the best a grid may be to be tried as well, bits, and how many are tried. */
const BEHIND = 40;
const MOST_GRIDS = 4;
/** Octaves, 3 %: nearer ones explain the same few onsets. */
const SAME_TEMPO = 0.043;

export interface TempoGrid {
  /** s: the first of a pair. */
  readonly start: number;
  /** s. */
  readonly pair: number;
  /** Where in a pair the second step is, 0 to 1. */
  readonly share: number;
}

/** Grids that describe the onsets in about as few bits as any, the best first: one for each tempo. */
export function searchGrids(onsets: readonly number[]): readonly TempoGrid[] {
  const hits = onsets.slice(0, SEARCHED);
  const first = hits[0] as number;
  const length = (hits[hits.length - 1] as number) - first;
  // Candidates are so close that the last hit moves by no more than the scatter between them.
  const ratio = 1 + Math.min(0.01, SCATTER / Math.max(length, LONGEST_PAIR));
  const found: (TempoGrid & { readonly saved: number })[] = [];
  let most = 0;
  const longest = Math.min(LONGEST_PAIR, length);
  for (let pair = SHORTEST_PAIR; pair < longest; pair *= ratio) {
    const fold = bestFold(hits, pair, Math.max(0, most - BEHIND));
    if (fold === null) continue;
    const { saved, share } = fold;
    most = Math.max(most, saved);
    found.push({ start: first + fold.phase, pair, share, saved });
  }
  // Of equals the first stays first.
  found.sort((a, b) => b.saved - a.saved);
  const kept: TempoGrid[] = [];
  for (const grid of found) {
    if (kept.length === MOST_GRIDS) break;
    if (!kept.some((one) => isSameTempo(one.pair, grid.pair))) kept.push(grid);
  }
  return kept;
}

/** Whether lengths differ by octaves only, so that they describe the same tempo. */
export function isSameTempo(one: number, other: number): boolean {
  const octaves = Math.log2(one / other);
  return Math.abs(octaves - Math.round(octaves)) < SAME_TEMPO;
}

/** Bits that an explained onset saves against one anywhere in half a pair. */
export function bitsSaved(pair: number): number {
  return Math.log2(pair / 2 / (SCATTER * Math.sqrt(2 * Math.PI * Math.E)));
}

const CELL = SCATTER;
/** On-steps are hit at least this share as often as the place that is hit most. */
const OFTEN = 0.5;

/**
 * For one pair length: the phase and share that explain the onsets best, by a folded histogram.
 * @returns null if none saves more than `least` bits.
 */
function bestFold(hits: readonly number[], pair: number, least: number) {
  const cells = Math.ceil(pair / CELL);
  const first = hits[0] as number;
  const near = new Float64Array(cells);
  let highest = 0;
  for (const time of hits) {
    const cell = Math.floor((((time - first) % pair) / pair) * cells);
    for (let d = -2; d <= 2; d++) {
      const at = (cell + d + cells) % cells;
      const sum = Math.max(0, 1 - (d * d) / 18) + (near[at] as number);
      near[at] = sum;
      if (sum > highest) highest = sum;
    }
  }
  const worth = bitsSaved(pair);
  const bitsOf = (explained: number) => explained * worth - (hits.length - explained) * STRAY_BITS;
  // Nothing explains more than the place that is hit most, twice.
  if (bitsOf(2 * highest) <= least) return null;
  let saved = least;
  let bestCell = -1;
  let share = 0.5;
  for (let cell = 0; cell < cells; cell++) {
    const on = near[cell] as number;
    // No off-step is hit more than the place that is hit most.
    if (on < highest * OFTEN || bitsOf(on + highest) <= saved) continue;
    for (let s = 0; s < SHARES.length; s++) {
      const candidate = SHARES[s] as number;
      const off = near[(cell + Math.round(candidate * cells)) % cells] as number;
      const bits = bitsOf(on + off) - (candidate === 0.5 ? 0 : SWING_BITS);
      if (bits > saved + 1e-9) {
        saved = bits;
        bestCell = cell;
        share = candidate;
      }
    }
  }
  return bestCell < 0 ? null : { saved, phase: ((bestCell + 0.5) / cells) * pair, share };
}

/** Follows the grid through all onsets, fitting it again to more and more of them. */
export function fitAll(hits: readonly number[], start: TempoGrid): TempoGrid {
  let grid = start;
  for (let count = Math.min(hits.length, SEARCHED); ; count = Math.min(hits.length, 2 * count)) {
    for (let round = 0; round < 3; round++) grid = refit(hits.slice(0, count), grid);
    if (count === hits.length) return withLongStepFirst(withOnStepsMostHit(hits, grid));
  }
}

/** Least squares for start, pair and off-step over the onsets near the grid. */
function refit(hits: readonly number[], grid: TempoGrid): TempoGrid {
  const rows: { pairs: number; isOff: boolean; time: number }[] = [];
  for (const time of hits) {
    const { pairs, isOff, off } = nearestStep(grid, time);
    if (Math.abs(off) < TOLERANCE) rows.push({ pairs, isOff, time });
  }
  const on = rows.filter(({ isOff }) => !isOff);
  const off = rows.filter(({ isOff }) => isOff);
  // Both kinds of step share one pair length: slopes about each kind's own mean.
  let moment = 0;
  let spread = 0;
  for (const group of [on, off]) {
    const n = mean(group.map(({ pairs }) => pairs));
    const t = mean(group.map(({ time }) => time));
    for (const { pairs, time } of group) {
      moment += (pairs - n) * (time - t);
      spread += (pairs - n) ** 2;
    }
  }
  if (spread === 0 || on.length === 0) return grid;
  const pair = moment / spread;
  const origin = (group: typeof rows) => mean(group.map(({ pairs, time }) => time - pairs * pair));
  const onStart = origin(on);
  const share = off.length > 0 ? (origin(off) - onStart) / pair : grid.share;
  return { start: onStart, pair, share };
}

/** A share so near to half is straight. */
const STRAIGHT = 0.01;

/** A straight grid has no on and off of its own: the steps that are hit more are the on-steps. */
function withOnStepsMostHit(hits: readonly number[], grid: TempoGrid): TempoGrid {
  if (Math.abs(grid.share - 0.5) > STRAIGHT) return grid;
  const offs = hits.filter((time) => nearestStep(grid, time).isOff).length;
  if (2 * offs <= hits.length) return grid;
  return { start: grid.start + grid.share * grid.pair, pair: grid.pair, share: 1 - grid.share };
}

/** Of a pair that swings the longer step comes first, whichever way the search has paired them. */
function withLongStepFirst(grid: TempoGrid): TempoGrid {
  const { start, pair, share } = grid;
  return share < 0.5 - STRAIGHT ? { start: start + share * pair, pair, share: 1 - share } : grid;
}

export function nearestStep({ start, pair, share }: TempoGrid, time: number) {
  const at = (time - start) / pair;
  const onPairs = Math.round(at);
  const offPairs = Math.round(at - share);
  const on = (at - onPairs) * pair;
  const off = (at - share - offPairs) * pair;
  return Math.abs(off) < Math.abs(on)
    ? { pairs: offPairs, isOff: true, off }
    : { pairs: onPairs, isOff: false, off: on };
}
