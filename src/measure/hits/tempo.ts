/**
 * Tempo and swing, estimated from onsets alone.
 *
 * Model: steps come in pairs of a fixed length, the second of a pair at a share s of it (50 % is
 * straight), and hits fall on steps. Of all pair lengths and shares it takes the one that describes the onsets in the
 * fewest bits: a longer pair locates each onset it explains more exactly, but an onset off the grid has to be
 * described by itself. Source of the principle: J. Rissanen, Modeling by Shortest Data
 * Description, Automatica 14 (1978) 465-471 (from memory).
 *
 * Onsets do not show whether a step is a quarter or a sixteenth. The tempo given is the one between
 * 71 and 141 bpm; half and double of it describe the same onsets.
 */

export interface Tempo {
  /** Quarter notes a minute, between 71 and 141. */
  readonly bpm: number;
  /** Steps per quarter note: the finest that the hits use, 1, 2, 4, ... */
  readonly stepsPerQuarter: number;
  /** When the off-step comes, % of a pair of steps; null if none is hit. */
  readonly swingPercent: number | null;
  /** The share of the onsets that fall on the grid, and how far off they are, s rms. */
  readonly onGrid: number;
  readonly deviationSeconds: number;
  /** Reliability from 0 to 1: grows with the hits on the grid and falls with their scatter. */
  readonly reliability: number;
}

const FEWEST = 5;
/** Onsets closer than this are strokes of one hit, s: one of them sets the time. */
const ONE_HIT = 0.045;
/** The main stroke of a flam is no softer than half the power of its grace stroke. */
const AS_LOUD = 0.5;
/** The grace strokes of drags and ruffs are softer than the main one by 1.5 dB, and no nearer than this, s: a clap's are. */
const NEAREST_GRACE = 0.015;
const LOUDER = 1.41;
const MOST_GRACES = 3;
/**
 * Where hits are off the grid some may be grace strokes farther from the next one, s: of a ruff perhaps only the
 * first is heard. On the grid such hits are the soft steps of a swing.
 */
const FARTHER = [0.06, 0.09];
const OFF_GRID = 0.95;
/** A stroke of a clap or a ratchet that is softer than the loudest by 6 dB does not set the time. */
const LOUD = 0.25;
/** The search looks at so many onsets; the fit then goes through all of them. */
const SEARCHED = 48;
/** Pairs of steps, s: from sixteenths at 250 bpm to quarters at 60. */
const SHORTEST_PAIR = 0.12;
const LONGEST_PAIR = 2;
/** Off-steps from straight to a little past the triplet, as shares of a pair. */
const SHARES = [0.5, 0.52, 0.54, 0.56, 0.58, 0.6, 0.62, 0.64, 2 / 3, 0.68, 0.7];
/** How exactly hits are played and found: standard deviation, s, and where a hit is off the grid. */
const SCATTER = 0.006;
const TOLERANCE = 3 * SCATTER;
/** Bits for an onset that the grid does not explain: one in a thousand does not. */
const STRAY_BITS = Math.log2(1000);
/** Bits for a swing: most patterns have none, and its amount must be described. */
const SWING_BITS = 7;
/** An octave of tempi about 100. */
const LOWEST_BPM = 100 / Math.SQRT2;

interface TempoGrid {
  readonly start: number;
  readonly pair: number;
  readonly share: number;
}

/**
 * Estimates tempo and swing.
 * @param times onsets in s, rising.
 * @param powers how loud each is.
 * @returns null for fewer than five hits, and for hits that follow no grid.
 */
export function estimateTempo(times: readonly number[], powers: readonly number[]): Tempo | null {
  let best = tempoOf(mainStrokes(times, powers, ONE_HIT));
  for (const grace of FARTHER) {
    if ((best?.onGrid ?? 0) >= OFF_GRID) break;
    const other = tempoOf(mainStrokes(times, powers, grace));
    if ((other?.reliability ?? 0) > (best?.reliability ?? 0)) best = other;
  }
  return best;
}

function tempoOf(hits: readonly number[]): Tempo | null {
  if (hits.length < FEWEST) return null;
  const found = search(hits.slice(0, SEARCHED));
  if (found === null) return null;
  const grid = fitAll(hits, found);
  const steps = hits.map((time) => nearest(grid, time));
  const near = steps.filter(({ off }) => Math.abs(off) < TOLERANCE);
  const onGrid = near.length / hits.length;
  if (near.length < FEWEST || onGrid < 0.5) return null;
  const deviation = Math.sqrt(near.reduce((sum, { off }) => sum + off * off, 0) / near.length);
  return {
    ...named(grid, near),
    onGrid,
    deviationSeconds: deviation,
    reliability: onGrid * (1 - 2 ** (-near.length / 4)) * (1 / (1 + (deviation / SCATTER) ** 2)),
  };
}

/** Quarter, steps and swing of a grid, given which of its steps are hit. */
function named({ pair, share }: TempoGrid, near: readonly { isOff: boolean }[]) {
  const hasOff = near.some(({ isOff }) => isOff);
  // A pair whose off-steps are silent is one step of a coarser grid.
  let quarter = pair;
  let stepsPerQuarter = hasOff ? 2 : 1;
  while (60 / quarter < LOWEST_BPM) {
    quarter /= 2;
    stepsPerQuarter /= 2;
  }
  while (60 / quarter >= 2 * LOWEST_BPM) {
    quarter *= 2;
    stepsPerQuarter *= 2;
  }
  return { bpm: 60 / quarter, stepsPerQuarter, swingPercent: hasOff ? 100 * share : null };
}

/**
 * Leaves out all but one stroke of a flam, a clap or a ratchet.
 * @param grace how near to the next stroke several grace strokes are looked for, s.
 */
function mainStrokes(
  times: readonly number[],
  powers: readonly number[],
  grace: number,
): readonly number[] {
  const kept: number[] = [];
  for (let n = 0; n < times.length; ) {
    n = afterGraces(times, powers, n, grace);
    const first = times[n] as number;
    let end = n + 1;
    while (end < times.length && (times[end] as number) - first <= ONE_HIT) end++;
    const next = times[end] ?? Number.POSITIVE_INFINITY;
    const isFlam = end - n === 2 && next - (times[end - 1] as number) > ONE_HIT;
    kept.push(times[isFlam ? mainOfFlam(powers, n) : mainOf(powers, n, end)] as number);
    n = end;
  }
  return kept;
}

/** Index of the stroke that the grace strokes from `n` on lead to; `n` if these lead to none. */
function afterGraces(
  times: readonly number[],
  powers: readonly number[],
  n: number,
  grace: number,
): number {
  let main = n;
  let loudest = powers[n] as number;
  const last = Math.min(n + MOST_GRACES, times.length - 1);
  for (let m = n + 1; m <= last; m++) {
    const apart = (times[m] as number) - (times[m - 1] as number);
    if (apart > grace || apart < NEAREST_GRACE) break;
    const power = powers[m] as number;
    if (power >= LOUDER * loudest) main = m;
    loudest = Math.max(loudest, power);
  }
  return main;
}

/** In a flam the second stroke is on the beat, however loud; of a hit and its echo, the first. */
function mainOfFlam(powers: readonly number[], first: number): number {
  const [grace, main] = [powers[first] as number, powers[first + 1] as number];
  return main >= AS_LOUD * grace ? first + 1 : first;
}

/** Of more than two strokes, the first that is about as loud as the loudest. */
function mainOf(powers: readonly number[], from: number, to: number): number {
  const some = powers.slice(from, to);
  const loudest = some.reduce((most, power) => Math.max(most, power), 0);
  return from + some.findIndex((power) => power >= LOUD * loudest);
}

/** Finds the grid that saves the most bits. */
function search(hits: readonly number[]): TempoGrid | null {
  const first = hits[0] as number;
  const length = (hits[hits.length - 1] as number) - first;
  // Candidates are so close that the last hit moves by no more than the scatter between them.
  const ratio = 1 + Math.min(0.01, SCATTER / Math.max(length, LONGEST_PAIR));
  let best: TempoGrid | null = null;
  let most = 0;
  const longest = Math.min(LONGEST_PAIR, length);
  for (let pair = SHORTEST_PAIR; pair < longest; pair *= ratio) {
    const found = bestFold(hits, pair, most);
    if (found !== null) {
      most = found.saved;
      best = { start: first + found.phase, pair, share: found.share };
    }
  }
  return best;
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
  for (const time of hits) {
    const cell = Math.floor((((time - first) % pair) / pair) * cells);
    for (let d = -2; d <= 2; d++) {
      const at = (cell + d + cells) % cells;
      near[at] = Math.max(0, 1 - (d * d) / 18) + (near[at] as number);
    }
  }
  // Bits that one explained onset saves against one anywhere in half a pair.
  const worth = Math.log2(pair / 2 / (SCATTER * Math.sqrt(2 * Math.PI * Math.E)));
  let highest = 0;
  for (let cell = 0; cell < cells; cell++) {
    if ((near[cell] as number) > highest) highest = near[cell] as number;
  }
  const bitsOf = (explained: number) => explained * worth - (hits.length - explained) * STRAY_BITS;
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
function fitAll(hits: readonly number[], start: TempoGrid): TempoGrid {
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
    const { pairs, isOff, off } = nearest(grid, time);
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
  const offs = hits.filter((time) => nearest(grid, time).isOff).length;
  if (2 * offs <= hits.length) return grid;
  return { start: grid.start + grid.share * grid.pair, pair: grid.pair, share: 1 - grid.share };
}

/** Of a pair that swings the longer step comes first, whichever way the search has paired them. */
function withLongStepFirst(grid: TempoGrid): TempoGrid {
  const { start, pair, share } = grid;
  return share < 0.5 - STRAIGHT ? { start: start + share * pair, pair, share: 1 - share } : grid;
}

function nearest({ start, pair, share }: TempoGrid, time: number) {
  const at = (time - start) / pair;
  const onPairs = Math.round(at);
  const offPairs = Math.round(at - share);
  const on = (at - onPairs) * pair;
  const off = (at - share - offPairs) * pair;
  return Math.abs(off) < Math.abs(on)
    ? { pairs: offPairs, isOff: true, off }
    : { pairs: onPairs, isOff: false, off: on };
}

function mean(values: readonly number[]): number {
  return values.reduce((a, b) => a + b, 0) / Math.max(1, values.length);
}
