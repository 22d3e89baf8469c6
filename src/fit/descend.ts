/**
 * Moves many settings at once, by the effect of each on every band and every moment: Gauss-Newton steps on the
 * residuals, weighted so that the sum of their magnitudes is minimised and not that of their squares, and
 * damped where the linear approximation does not hold. Slopes are measured by a try of each setting, and then
 * corrected by what each step has changed, since a step costs one try.
 *
 * Sources: D. W. Marquardt, An Algorithm for Least-Squares Estimation of Nonlinear Parameters, J. SIAM 11
 * (1963) 431-441, for the damping; E. J. Schlossmacher, An Iterative Technique for Absolute Deviations Curve
 * Fitting, J. Am. Stat. Assoc. 68 (1973) 857-859, for the weights; C. G. Broyden, A Class of Methods for Solving
 * Nonlinear Simultaneous Equations, Math. Comp. 19 (1965) 577-593, for the corrections (all from memory).
 */

import { eliminate } from '../measure/hits/decay-model.ts';
import type { BestPlace, Scan, Search } from './search.ts';
import { strides } from './strides.ts';
import type { DistanceParts } from './voice-renders.ts';

export interface Descent extends Search {
  /** The residuals at a place. */
  readonly residuals: (place: readonly number[]) => Promise<DistanceParts>;
}

/** Steps that find the slope of a coordinate: some 8 % of a time or a frequency, and less near the end. */
const PROBES = [0.08, 0.02] as const;
/** Residuals smaller than this get the weight of this, dB: a magnitude has no slope at 0. */
const SMALL = 1;
/** The longest step of one coordinate in a round. */
const MOST_STEP = 1;
/** A coordinate whose probe changes all residuals together by less than this is not moved, dB. */
const FELT = 0.002;
/** The damping: its start, the factors of its changes, and its limits. */
const DAMPING = { first: 0.03, less: 0.3, more: 6, least: 1e-3, most: 30 };
/** A round that gains less than this is the last with its steps, dB. */
const LEAST_GAIN = 0.01;
/** How many descents are made from strides before it stays where it is. */
const DESCENTS = 4;

/**
 * Descends from a place until a round gains hardly anything.
 * @returns the best, and the coordinates that made a difference.
 */
export async function descend(
  search: Descent,
  from: BestPlace,
  axes: readonly number[],
): Promise<Scan> {
  const { bounds, evaluate, residuals, isOver } = search;
  let best = from;
  const felt = new Set<number>();
  const ended = (): Scan => ({ ...best, axes: axes.filter((axis) => felt.has(axis)) });
  let damping = DAMPING.first;
  let way = 1;
  let fine = 0;
  while (!isOver()) {
    const start = best;
    const { left, weights } = await residuals(start.place);
    const { free, slopes, least } = await slopesAt(search, axes, {
      ...{ start, left, weights, probe: way * (PROBES[fine] as number) },
    });
    if (least.value < best.value) best = least;
    for (const axis of free) felt.add(axis);
    if (isOver() || free.length === 0) return ended();
    /** Steps from a place by the slopes. @returns undefined if no step with so much damping is better. */
    const stepped = async (from: Stood, most: number): Promise<Stood | undefined> => {
      const normal = normalOf(from.left, weights, slopes);
      for (; damping <= most && !isOver(); damping *= DAMPING.more) {
        const steps = dampedSteps(normal, damping);
        const place = from.place.map((value, axis) => {
          const step = steps[free.indexOf(axis)];
          const { low, high } = bounds[axis] as Search['bounds'][number];
          return step === undefined ? value : Math.min(high, Math.max(low, value + step));
        });
        const value = await evaluate(place);
        if (!(value < from.value)) continue;
        if (value < best.value) best = { place, value };
        damping = Math.max(DAMPING.least, damping * DAMPING.less);
        return { place, value, left: (await residuals(place)).left };
      }
      return undefined;
    };
    // One step by slopes just measured, then as many by corrected ones as gain something.
    let last: Stood = { ...start, left };
    let next = await stepped(last, DAMPING.most);
    if (next === undefined) damping = DAMPING.first;
    while (next !== undefined && next.left.length === left.length && !isOver()) {
      const [here, there] = [last.place, next.place];
      const moves = free.map((axis) => (there[axis] as number) - (here[axis] as number));
      correctSlopes(slopes, moves, { from: last.left, to: next.left });
      if (last.left !== left && last.value - next.value < LEAST_GAIN) break;
      last = next;
      next = await stepped(last, Math.min(DAMPING.most, damping * DAMPING.more));
      if (next === undefined) damping = Math.max(DAMPING.least, damping / DAMPING.more ** 2);
    }
    if (start.value - best.value < LEAST_GAIN && ++fine === PROBES.length) return ended();
    way = -way;
  }
  return ended();
}

/**
 * Descends, and tries strides from where that ends until they lead no lower: for a few settings, of which two may make up for
 * one another.
 */
export async function descendFurther(
  search: Descent,
  from: BestPlace,
  axes: readonly number[],
): Promise<Scan> {
  const { bounds, evaluate, residuals, prepare, isOver } = search;
  let best = await descend(search, from, axes);
  while (!isOver()) {
    const start = best;
    const { left, weights } = await residuals(start.place);
    const { free, slopes } = await slopesAt(search, axes, {
      ...{ start, left, weights, probe: PROBES[0] },
    });
    const { matrix } = normalOf(left, weights, slopes);
    const places = strides({ place: start.place, bounds, free, matrix });
    prepare?.(places);
    const strode: BestPlace[] = [];
    for (const place of places) {
      if (isOver()) break;
      strode.push({ place, value: await evaluate(place) });
    }
    // Even one that leads up may be in a wider valley.
    for (const one of strode.toSorted((a, b) => a.value - b.value).slice(0, DESCENTS)) {
      const { axes: felt, ...next } = await descend(search, one, axes);
      best = {
        ...(next.value < best.value ? next : best),
        axes: axes.filter((axis) => best.axes.includes(axis) || felt.includes(axis)),
      };
      if (start.value - best.value >= LEAST_GAIN) break;
    }
    if (start.value - best.value < LEAST_GAIN) return best;
  }
  return best;
}

/** A step of each coordinate by itself, the other way where it would lead out of its bounds. */
export function probesFrom(
  from: readonly number[],
  { bounds, axes, probe }: Pick<Search, 'bounds'> & Probing,
): readonly { readonly axis: number; readonly place: readonly number[] }[] {
  return axes.map((axis) => {
    const { low, high } = bounds[axis] as Search['bounds'][number];
    const here = from[axis] as number;
    const step = here + probe > high || here + probe < low ? -probe : probe;
    return { axis, place: from.with(axis, Math.min(high, Math.max(low, here + step))) };
  });
}

export interface Probing {
  readonly axes: readonly number[];
  /** The step. */
  readonly probe: number;
}

/** How each residual changes with each coordinate that makes a difference, by a try of each; and the best of these. */
async function slopesAt(
  { bounds, evaluate, residuals, prepare, isOver }: Descent,
  axes: readonly number[],
  {
    start,
    left,
    weights,
    probe,
  }: DistanceParts & { readonly start: BestPlace; readonly probe: number },
) {
  const free: number[] = [];
  const slopes: Float64Array[] = [];
  let least = start;
  const probes = probesFrom(start.place, { bounds, axes, probe });
  prepare?.(probes.map(({ place }) => place));
  for (const { axis, place } of probes) {
    if (isOver()) break;
    const change = (place[axis] as number) - (start.place[axis] as number);
    if (change === 0) continue;
    const value = await evaluate(place);
    const { left: moved } = await residuals(place);
    if (value < least.value) least = { place, value };
    let moves = 0;
    const slope = Float64Array.from(left, (own, k) => {
      const difference = (moved[k] ?? own) - own;
      moves += (weights[k] as number) * Math.abs(difference);
      return difference / change;
    });
    if (moves < FELT) continue;
    free.push(axis);
    slopes.push(slope);
  }
  return { free, slopes, least };
}

/** A place, its value and its residuals. */
interface Stood extends BestPlace {
  readonly left: Float64Array;
}

/**
 * Corrects slopes by what a step has changed, so that they tell that step exactly, and others as before.
 * @param moves of each coordinate.
 * @param from the values before, and `to` those after; what has none is left alone.
 */
export function correctSlopes(
  slopes: readonly Float64Array[],
  moves: readonly number[],
  { from, to }: { readonly from: Float64Array; readonly to: Float64Array },
): void {
  const square = moves.reduce((sum, one) => sum + one * one, 0);
  if (square === 0) return;
  for (let k = 0; k < from.length; k++) {
    const change = (to[k] as number) - (from[k] as number);
    if (!Number.isFinite(change)) continue;
    let told = 0;
    for (let j = 0; j < moves.length; j++)
      told += ((slopes[j] as Float64Array)[k] as number) * (moves[j] as number);
    const missing = (change - told) / square;
    for (let j = 0; j < moves.length; j++) {
      const slope = slopes[j] as Float64Array;
      slope[k] = (slope[k] as number) + missing * (moves[j] as number);
    }
  }
}

interface NormalEquations {
  readonly matrix: readonly Float64Array[];
  readonly right: Float64Array;
}

/** The step of each free coordinate, none longer than {@link MOST_STEP}. */
function dampedSteps({ matrix, right }: NormalEquations, damping: number): readonly number[] {
  const steps = eliminate(
    matrix.map((row, k) => row.map((one, j) => (j === k ? one * (1 + damping) + 1e-9 : one))),
    right.slice(),
  );
  const longest = steps.reduce((most, one) => Math.max(most, Math.abs(one)), 0);
  // Where they have no answer, it stays where it is.
  if (!Number.isFinite(longest)) return steps.map(() => 0);
  const scale = Math.min(1, MOST_STEP / Math.max(1e-12, longest));
  return steps.map((one) => scale * one);
}

function normalOf(
  left: Float64Array,
  weights: Float64Array,
  slopes: readonly Float64Array[],
): NormalEquations {
  const weighed = Float64Array.from(
    weights,
    (weight, k) => weight / Math.max(SMALL, Math.abs(left[k] as number)),
  );
  const matrix = slopes.map(() => new Float64Array(slopes.length));
  const right = new Float64Array(slopes.length);
  slopes.forEach((own, j) => {
    for (let i = 0; i <= j; i++) {
      const other = slopes[i] as Float64Array;
      let sum = 0;
      for (let k = 0; k < own.length; k++)
        sum += (weighed[k] as number) * (own[k] as number) * (other[k] as number);
      (matrix[j] as Float64Array)[i] = sum;
      (matrix[i] as Float64Array)[j] = sum;
    }
    let sum = 0;
    for (let k = 0; k < own.length; k++)
      sum -= (weighed[k] as number) * (own[k] as number) * (left[k] as number);
    right[j] = sum;
  });
  return { matrix, right };
}
