/**
 * What a grid leaves to explain: the onsets of a recording as hits on its steps, even strokes that fill a
 * step (ratchets), and strays. The fewer bits that takes, the likelier the reading; where another tempo takes about as
 * few, the onsets do not show which is right. Source of the principle: see `tempo`.
 */

import {
  bitsSaved,
  fitAll,
  isSameTempo,
  nearestStep,
  STRAY_BITS,
  SWING_BITS,
  searchGrids,
  type TempoGrid,
  TOLERANCE,
} from './tempo-grid.ts';

export interface Reading {
  readonly grid: TempoGrid;
  /** Bits against a description of each onset by itself. */
  readonly saved: number;
  /** s: the hits on its steps, of ratchets the first stroke. */
  readonly hits: readonly number[];
  /** The share of the onsets that are explained. */
  readonly explained: number;
}

/** Bits for a stroke beside one that is explained, within this, s: a grace stroke, or a hand of a clap. */
const BESIDE_BITS = 3;
const BESIDE = 0.045;
/** The most strokes of a ratchet, and how even they are, s. */
const MOST_RATCHET = 8;
const EVEN = 0.004;
/** Bits for a ratchet beside those for its strokes: by so much a run of single steps is the simpler reading. */
const RATCHET_BITS = 2.5;
/** Steps of finer levels than the pair's, whose single hits may all be ratchets. */
const LEVELS = [1, 0.5, 0.25, 0.125];
/** Strokes nearer than this to one before do not lead: ratchets without their first strokes, s. */
const LEADS = [0.1, 0.2];

/** Swings that are on straight steps as well: of so many steps the pair's first lasts this share. */
const COMMENSURATE = [
  { steps: 3, share: 2 / 3 },
  { steps: 5, share: 3 / 5 },
] as const;
const FEWEST = 3;
/** Of how many tempos the straight grid is tried with such swings. */
const MOST_SWUNG = 3;
/** The longest repeat that is looked for, steps. */
const LONGEST_REPEAT = 48;
/** Bits by which threes are preferred to twos by two in three random lines of 48 triplets, and by one in 1000 of fours. */
const PREFERRED_BITS = 2;
/** A bar of triplets, steps: so much of its repeat is enough to show it, since the end may be silent. */
const BAR = 12;
const SHOWN = 8;

/** @param grids some that may describe them. @returns the readings of onsets, the best first. */
export function readingsOf(
  times: readonly number[],
  grids: readonly TempoGrid[],
): readonly Reading[] {
  let all = [...grids];
  for (const hits of leaders(times)) {
    if (hits.length >= FEWEST) {
      const found = searchGrids(hits).map((grid) => fitAll(hits, grid));
      all = all.concat(found);
    }
  }
  const readings = sorted(all.map((grid) => readingOf(times, grid)));
  const best = readings.filter(
    ({ grid }, n) =>
      !readings.slice(0, n).some((better) => isSameTempo(better.grid.pair, grid.pair)),
  );
  const swung = best.slice(0, MOST_SWUNG).flatMap(({ grid }) => swingsOn(grid));
  return sorted([...readings, ...swung.map((grid) => readingOf(times, grid))]);
}

function sorted(readings: readonly Reading[]): readonly Reading[] {
  return [...readings].sort((a, b) => b.saved - a.saved);
}

/** The swung grids all of whose steps are steps of a straight one. */
function swingsOn({ start, pair, share }: TempoGrid): readonly TempoGrid[] {
  if (!isStraight(share)) return [];
  const step = pair / 2;
  return COMMENSURATE.flatMap(({ steps, share }) =>
    [steps, 2 * steps].flatMap((length) =>
      Array.from({ length }, (_, first) => ({
        start: start + first * step,
        pair: length * step,
        share,
      })),
    ),
  );
}

function isStraight(share: number): boolean {
  return Math.abs(share - 0.5) < 0.01;
}

/**
 * Whether the hits on a straight grid repeat after a number of steps that threes divide, or prefer every third step,
 * clearly more than every second.
 */
export function isInThrees(reading: Reading): boolean {
  const steps = stepsOf(reading);
  if (preferenceBits(steps, 3) > preferenceBits(steps, 2) + PREFERRED_BITS) return true;
  const struck = new Set(steps);
  const last = [...struck].reduce((most, step) => Math.max(most, step), 0);
  for (let repeat = 1; repeat <= LONGEST_REPEAT; repeat++) {
    if (last + 1 - repeat < (repeat <= BAR ? Math.min(repeat, SHOWN) : repeat)) continue;
    let isRepeated = true;
    for (let step = 0; isRepeated && step + repeat <= last; step++)
      isRepeated = struck.has(step) === struck.has(step + repeat);
    if (isRepeated) return repeat % 3 === 0;
  }
  return false;
}

/** Bits by which the hits prefer one of so many steps, whichever that is, to the others. */
function preferenceBits(steps: readonly number[], count: number): number {
  const hits = steps.length;
  const places = Array.from({ length: count }, () => 0);
  for (const step of steps) places[step % count] = (places[step % count] as number) + 1;
  const most = places.reduce((a, b) => Math.max(a, b));
  if (most === 0) return 0;
  // Of a binomial against one whose places are alike: the divergence of Kullback and Leibler.
  const others = hits - most;
  const rest = others === 0 ? 0 : others * Math.log2((others * count) / (hits * (count - 1)));
  return most * Math.log2((most * count) / hits) + rest - Math.log2(count);
}

/**
 * The steps that are struck on a straight grid, of the coarsest that has them all and from its first; none for a
 * grid that swings.
 */
function stepsOf({ grid, hits }: Pick<Reading, 'grid' | 'hits'>): readonly number[] {
  if (!isStraight(grid.share)) return [];
  const steps = hits.map((time) => Math.round((2 * (time - grid.start)) / grid.pair));
  const first = steps[0] ?? 0;
  const unit = steps.reduce((one, step) => divisor(one, step - first), 0);
  return unit === 0 ? [] : steps.map((step) => (step - first) / unit);
}

/**
 * Bits for how unlikely it is that all hits of a straight grid leave out one step in three: a swing explains that.
 */
function bitsOfHoles(reading: Pick<Reading, 'grid' | 'hits'>): number {
  const steps = stepsOf(reading);
  const places = new Set(steps.map((step) => step % 3));
  return places.size === 2 ? steps.length * Math.log2(3 / 2) : 0;
}

function divisor(a: number, b: number): number {
  let [one, other] = [Math.abs(a), Math.abs(b)];
  while (other > 0) [one, other] = [other, one % other];
  return one;
}

/** The lists of onsets among which grids are looked for: without the later strokes of what may be ratchets. */
function leaders(times: readonly number[]): readonly (readonly number[])[] {
  const lists = [withoutRuns(times)];
  for (const lead of LEADS) {
    const kept: number[] = [];
    for (const time of times)
      if (time - (kept.at(-1) ?? Number.NEGATIVE_INFINITY) > lead) kept.push(time);
    lists.push(kept);
  }
  // Lists of one length are the same; where nothing is left out, the onsets themselves have been searched.
  return lists.filter(
    ({ length }, n) =>
      length < times.length && !lists.slice(0, n).some((other) => other.length === length),
  );
}

/** Without all but the first of three strokes and more that are even. */
function withoutRuns(times: readonly number[]): readonly number[] {
  const kept: number[] = [];
  for (let n = 0; n < times.length; ) {
    kept.push(times[n] as number);
    const count = runFrom(times, n);
    n += count < 3 ? 1 : count;
  }
  return kept;
}

/** How many strokes from `n` on are even, and nearer than any pair of steps. */
function runFrom(times: readonly number[], n: number): number {
  const gap = (times[n + 1] as number) - (times[n] as number);
  if (!(gap < 0.13)) return 1;
  let count = 2;
  while (
    count < MOST_RATCHET &&
    Math.abs((times[n + count] as number) - (times[n + count - 1] as number) - gap) < EVEN
  )
    count++;
  return count;
}

/** Describes onsets by a grid. */
function readingOf(times: readonly number[], grid: TempoGrid): Reading {
  const worth = bitsSaved(grid.pair);
  const isOn = times.map((time) => Math.abs(nearestStep(grid, time).off) < TOLERANCE);
  const lengths = lengthsOf(grid);
  const hits: number[] = [];
  let saved = isStraight(grid.share) ? 0 : -SWING_BITS;
  let explained = 0;
  for (let n = 0; n < times.length; ) {
    if (!isOn[n]) {
      const time = times[n] as number;
      const isBeside =
        (isOn[n - 1] && time - (times[n - 1] as number) < BESIDE) ||
        (isOn[n + 1] && (times[n + 1] as number) - time < BESIDE);
      saved -= isBeside ? BESIDE_BITS : STRAY_BITS;
      if (isBeside) explained++;
      n++;
      continue;
    }
    const count = ratchetFrom(times, isOn, n, lengths);
    hits.push(times[n] as number);
    saved += count * worth;
    if (count > 1) saved -= count * Math.log2(count) + RATCHET_BITS;
    explained += count;
    n += count;
  }
  saved -= bitsOfHoles({ grid, hits });
  return { grid, saved, hits, explained: explained / times.length };
}

/** What steps last, s. */
function lengthsOf({ pair, share }: TempoGrid): readonly number[] {
  const shares = isStraight(share) ? [0.5] : [share, 1 - share, 0.5];
  return LEVELS.flatMap((level) => shares.map((one) => one * level * pair));
}

/** How many strokes from `n` on fill a step evenly; 1 unless some of them are on no step. */
function ratchetFrom(
  times: readonly number[],
  isOn: readonly boolean[],
  n: number,
  lengths: readonly number[],
): number {
  const first = times[n] as number;
  for (let count = Math.min(MOST_RATCHET, times.length - n); count > 1; count--) {
    const gap = ((times[n + count - 1] as number) - first) / (count - 1);
    const strokes = times.slice(n, n + count);
    if (isOn.slice(n, n + count).every((one) => one)) continue;
    if (strokes.some((time, k) => Math.abs(time - first - k * gap) > EVEN)) continue;
    if (lengths.some((length) => Math.abs(count * gap - length) < (count / (count - 1)) * EVEN))
      return count;
  }
  return 1;
}
