/**
 * A line with the points left out that lie on it as far as an eye can tell: pictures of hundreds of
 * lines come at a fraction of the size.
 *
 * Method: from the last point kept, all slopes that pass every point since within the tolerance make a
 * fan, which narrows with each point; a point outside it ends the stretch at the one before. (Known as
 * the swinging door: Bristol, US patent 4 669 097, 1987; from memory.)
 */

import type { Point } from './lines.ts';

/**
 * @param points from left to right, none above another; gaps stay gaps.
 * @param tolerance how far from the line, up or down, a point that is left out may lie.
 */
export function straightened(points: readonly Point[], tolerance: number): Point[] {
  const kept: Point[] = [];
  let last: readonly [number, number] | undefined;
  let end: readonly [number, number] | undefined;
  let least = Number.NEGATIVE_INFINITY;
  let most = Number.POSITIVE_INFINITY;
  const finish = (): void => {
    if (end !== undefined) kept.push(end);
    end = undefined;
    [least, most] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  };
  for (const [x, y] of points) {
    if (y === null) {
      finish();
      last = undefined;
      kept.push([x, y]);
      continue;
    }
    if (last === undefined) {
      last = [x, y];
      kept.push(last);
      continue;
    }
    const slope = (y - last[1]) / (x - last[0]);
    if (end !== undefined && (slope < least || slope > most)) {
      last = end;
      finish();
    }
    const way = x - last[0];
    least = Math.max(least, (y - tolerance - last[1]) / way);
    most = Math.min(most, (y + tolerance - last[1]) / way);
    end = [x, y];
  }
  finish();
  return kept;
}
