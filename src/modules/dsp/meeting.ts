/** When lengths that differ come together again. */

/**
 * Gives the least common multiple of whole numbers from 1 on: after so many steps, lengths of these
 * steps start together again. The lengths themselves need no order; of none it is 1.
 */
export function meetingAfter(lengths: readonly number[]): number {
  return lengths.reduce((all, length) => (all / greatestDivisor(all, length)) * length, 1);
}

/** Euclid, Elements VII, 2. */
function greatestDivisor(a: number, b: number): number {
  let [x, y] = [a, b];
  while (y > 0) [x, y] = [y, x % y];
  return x;
}
