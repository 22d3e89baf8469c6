/**
 * Places further off, for a search that has come to rest in a narrow valley or a small dip: each setting is moved
 * by some way, and the others follow it as far as they make up for it by the slopes.
 */

import { eliminate } from '../measure/hits/decay-model.ts';
import { largest } from '../modules/dsp/extremes.ts';
import type { Bounds } from './search.ts';

/** How far the one is moved, in units of the search, and the furthest that another may follow. */
const WAYS = [0.12, -0.12, 0.35, -0.35, 0.7, -0.7];
const FURTHEST = 1;

export interface StrideStart {
  readonly place: readonly number[];
  readonly bounds: readonly Bounds[];
  /** The settings that move, and of each two how alike their effects are: the matrix of a least-squares problem. */
  readonly free: readonly number[];
  readonly matrix: readonly Float64Array[];
}

/** The places that are worth a try. */
export function strides(rest: StrideStart): readonly (readonly number[])[] {
  return rest.free.flatMap((axis, index) =>
    WAYS.map((way) => followed(rest, index, way)).filter(
      (moved) => moved[axis] !== rest.place[axis],
    ),
  );
}

/**
 * Moves one setting, and has the others follow.
 * @param index which of those that move.
 */
export function followed(
  { place, bounds, free, matrix }: StrideStart,
  index: number,
  by: number,
): readonly number[] {
  const follow = followers(matrix, index);
  const furthest = largest(follow.map((one, k) => (k === index ? 0 : Math.abs(by * one))));
  // Without an answer it moves alone.
  const share = Number.isFinite(furthest) ? Math.min(1, FURTHEST / Math.max(1e-12, furthest)) : 0;
  return free.reduce((moved, axis, k) => {
    const { low, high } = bounds[axis] as Bounds;
    const own = k === index ? by : share === 0 ? 0 : share * by * (follow[k] as number);
    return moved.with(axis, Math.min(high, Math.max(low, (place[axis] as number) + own)));
  }, place);
}

/** By how much each moves where the one at an index moves by 1. */
function followers(matrix: readonly Float64Array[], index: number): readonly number[] {
  const others = [...matrix.keys()].filter((one) => one !== index);
  const at = (row: number, column: number): number =>
    (matrix[row] as Float64Array)[column] as number;
  const found = eliminate(
    others.map((row) =>
      Float64Array.from(others, (column) => at(row, column) * (row === column ? 1 + 1e-9 : 1)),
    ),
    Float64Array.from(others, (row) => -at(row, index)),
  );
  return [...matrix.keys()].map((one) =>
    one === index ? 1 : (found[others.indexOf(one)] as number),
  );
}
