/** Where a function of one number is lowest. Source: J. Kiefer, Proc. Amer. Math. Soc. 4 (1953) 502-506 (from memory). */

const GOLDEN = (Math.sqrt(5) - 1) / 2;

/**
 * Narrows a range by golden section, each round to 0.618 of it.
 * @param cost has one dip between `low` and `high`.
 * @returns the middle of what is left.
 */
export function lowestAt(
  cost: (x: number) => number,
  low: number,
  high: number,
  rounds: number,
): number {
  let from = low;
  let to = high;
  let a = to - GOLDEN * (to - from);
  let b = from + GOLDEN * (to - from);
  let atA = cost(a);
  let atB = cost(b);
  for (let round = 1; round < rounds; round++) {
    if (atA < atB) {
      to = b;
      b = a;
      atB = atA;
      a = to - GOLDEN * (to - from);
      atA = cost(a);
    } else {
      from = a;
      a = b;
      atA = atB;
      b = from + GOLDEN * (to - from);
      atB = cost(b);
    }
  }
  return atA < atB ? (from + b) / 2 : (a + to) / 2;
}
