/** Which pattern and which of its steps plays at a time. */

import type { PlayedView } from '../../protocol.ts';

/** What a rhythm plays at a time, s from the start of the loop. */
export function playedAt(
  played: readonly PlayedView[],
  seconds: number,
  module?: string,
): PlayedView | undefined {
  return played.find(
    (one) =>
      (module === undefined || one.module === module) &&
      one.start <= seconds + TINY &&
      seconds + TINY < one.end,
  );
}

/** s: the rounding error of sums of times. */
const TINY = 1e-6;

/** The step of a pattern at a time, from 0. */
export function stepAt({ start, step, swing }: PlayedView, seconds: number): number {
  const inside = seconds - start + TINY;
  const pair = Math.floor(inside / (2 * step));
  return 2 * pair + (inside - pair * 2 * step >= 2 * step * swing ? 1 : 0);
}
