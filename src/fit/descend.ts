/**
 * Moves many settings at once, by the effect of each on every band and every moment: Gauss-Newton steps on the
 * residuals, weighted so that the sum of their magnitudes is minimised and not that of their squares, and
 * damped where the linear approximation does not hold.
 *
 * Sources: D. W. Marquardt, An Algorithm for Least-Squares Estimation of Nonlinear Parameters, J. SIAM 11
 * (1963) 431-441, for the damping; E. J. Schlossmacher, An Iterative Technique for Absolute Deviations Curve
 * Fitting, J. Am. Stat. Assoc. 68 (1973) 857-859, for the weights (both from memory).
 */

import { eliminate } from '../measure/hits/decay-model.ts';
import { largest } from '../modules/dsp/extremes.ts';
import type { BestPlace, Scan, Search } from './search.ts';
import type { DistanceParts } from './tries.ts';

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
/** The damping: its start, the factor of its changes, and its limit. */
const DAMPING = { first: 0.03, less: 0.3, more: 6, most: 30 };
/** A round that gains less than this is the last with its steps, dB. */
const LEAST_GAIN = 0.01;

/**
 * Descends from a place until a round gains hardly anything.
 * @returns the best, and the coordinates that made a difference.
 */
export async function descend(
  { bounds, evaluate, residuals, isOver }: Descent,
  from: BestPlace,
  axes: readonly number[],
): Promise<Scan> {
  let best = from;
  const felt = new Set<number>();
  const ended = (): Scan => ({ ...best, axes: axes.filter((axis) => felt.has(axis)) });
  let damping = DAMPING.first;
  let way = 1;
  let fine = 0;
  while (!isOver()) {
    const start = best;
    const { left, weights } = await residuals(start.place);
    const free: number[] = [];
    const slopes: Float64Array[] = [];
    const probe = way * (PROBES[fine] as number);
    for (const axis of axes) {
      if (isOver()) return ended();
      const { low, high } = bounds[axis] as Search['bounds'][number];
      const here = start.place[axis] as number;
      const step = here + probe > high || here + probe < low ? -probe : probe;
      const place = start.place.with(axis, Math.min(high, Math.max(low, here + step)));
      const change = (place[axis] as number) - here;
      if (change === 0) continue;
      const value = await evaluate(place);
      const { left: moved } = await residuals(place);
      if (value < best.value) best = { place, value };
      let moves = 0;
      const slope = Float64Array.from(left, (own, k) => {
        const difference = (moved[k] ?? own) - own;
        moves += (weights[k] as number) * Math.abs(difference);
        return difference / change;
      });
      if (moves < FELT) continue;
      felt.add(axis);
      free.push(axis);
      slopes.push(slope);
    }
    if (free.length === 0) return ended();
    const { matrix, right } = normalOf(left, weights, slopes);
    let isBetter = false;
    for (; damping <= DAMPING.most && !isOver(); damping *= DAMPING.more) {
      const steps = eliminate(
        matrix.map((row, k) =>
          Float64Array.from(row, (one, j) => (j === k ? one * (1 + damping) + 1e-9 : one)),
        ),
        right.slice(),
      );
      const longest = largest(
        Array.from(steps, (one) => Math.abs(one)),
        0,
      );
      const scale = Number.isFinite(longest)
        ? Math.min(1, MOST_STEP / Math.max(1e-12, longest))
        : 0;
      const place = start.place.map((value, axis) => {
        const k = free.indexOf(axis);
        const { low, high } = bounds[axis] as Search['bounds'][number];
        return k < 0 ? value : Math.min(high, Math.max(low, value + scale * (steps[k] as number)));
      });
      const value = await evaluate(place);
      if (!(value < start.value)) continue;
      isBetter = true;
      if (value < best.value) best = { place, value };
      damping = Math.max(1e-3, damping * DAMPING.less);
      break;
    }
    if (!isBetter) damping = DAMPING.first;
    if (start.value - best.value < LEAST_GAIN && ++fine === PROBES.length) return ended();
    way = -way;
  }
  return ended();
}

function normalOf(left: Float64Array, weights: Float64Array, slopes: readonly Float64Array[]) {
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
