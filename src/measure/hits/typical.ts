/** The one value that represents those of many hits. */

/** A value and how far to trust it, from 0 to 1. */
export interface Weighed {
  readonly value: number | null;
  readonly reliability: number;
}

const UNKNOWN: Weighed = { value: null, reliability: 0 };

/**
 * The weighted median: half of the trust is in values below it. A few doubtful hits do not move it.
 * @returns it with the mean of the reliabilities, each weighted by itself, as each counts in the median:
 * with doubtful hits alone it is as doubtful as they are. No value if none can be trusted at all.
 */
export function typical(all: readonly Weighed[]): Weighed {
  const some = all
    .flatMap(({ value, reliability }) =>
      value !== null && reliability > 0 ? [{ value, reliability }] : [],
    )
    .toSorted((a, b) => a.value - b.value);
  const total = some.reduce((sum, { reliability }) => sum + reliability, 0);
  const reliability = some.reduce((sum, one) => sum + one.reliability ** 2, 0) / total;
  let below = 0;
  for (const [n, one] of some.entries()) {
    const { value } = one;
    below += one.reliability;
    // Between two values, each with half of the trust.
    if (below === total / 2)
      return { value: (value + (some[n + 1]?.value ?? value)) / 2, reliability };
    if (below > total / 2) return { value, reliability };
  }
  return UNKNOWN;
}
