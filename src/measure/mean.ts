/** The mean of values. */

/** Gives the mean of values, or of those from `from` up to `to`; 0 of none. They are added up in their order. */
export function mean(values: ArrayLike<number>, from = 0, to = values.length): number {
  let sum = 0;
  for (let n = from; n < to; n++) sum += values[n] as number;
  return sum / Math.max(1, to - from);
}
