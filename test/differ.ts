/**
 * Where two lists of samples differ first, to the bit, 0 and -0 being two.
 * @returns -1 where they do not, and the shorter length where one goes on.
 */
export function differAt(one: ArrayLike<number>, other: ArrayLike<number>): number {
  const both = Math.min(one.length, other.length);
  for (let n = 0; n < both; n++) {
    const [a, b] = [one[n] as number, other[n] as number];
    // Quicker than Object.is, which is asked where it matters.
    if ((a !== b || a === 0) && !Object.is(a, b)) return n;
  }
  return one.length === other.length ? -1 : both;
}
