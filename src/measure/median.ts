/** The middle of values. */

/** Gives the median, the mean of the two in the middle of an even number; NaN of none. */
export function median(values: Iterable<number>): number {
  const sorted = Float64Array.from(values).sort();
  const half = sorted.length / 2;
  const upper = sorted[Math.floor(half)] ?? Number.NaN;
  return Number.isInteger(half) ? ((sorted[half - 1] ?? Number.NaN) + upper) / 2 : upper;
}
