/**
 * The least and the greatest of a list of any length. `Math.min(...list)` puts the list on the stack,
 * which ends at some 120,000 numbers.
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
