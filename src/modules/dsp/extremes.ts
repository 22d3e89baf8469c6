/**
 * The least and the greatest of a list of any length, and its least common multiple.
 * `Math.min(...list)` puts the list on the stack, which ends at some 120,000 numbers.
 */

/** @param first what an empty list gives, and no result is above. */
export function smallest(values: Iterable<number>, first = Number.POSITIVE_INFINITY): number {
  let least = first;
  for (const value of values) least = Math.min(least, value);
  return least;
}

/** @param first what an empty list gives, and no result is below. */
export function largest(values: Iterable<number>, first = Number.NEGATIVE_INFINITY): number {
  let most = first;
  for (const value of values) most = Math.max(most, value);
  return most;
}

/**
 * Gives the least common multiple of whole numbers from 1 on: after so many steps, patterns of these
 * lengths start together again. Of an empty list it is 1.
 */
export function leastCommonMultiple(lengths: readonly number[]): number {
  return lengths.reduce((all, length) => (all / greatestCommonDivisor(all, length)) * length, 1);
}

/** Of whole numbers from 0 on, not both 0. Source: Euclid, Elements VII, 2. */
export function greatestCommonDivisor(a: number, b: number): number {
  let x = a;
  let y = b;
  while (y > 0) [x, y] = [y, x % y];
  return x;
}
