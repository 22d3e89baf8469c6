/** The one value that stands for those of many hits. */

/** A value and how far to trust it, from 0 to 1. */
export interface Weighed {
  readonly value: number | null;
  readonly reliability: number;
}

/**
 * The weighted median: half of the trust is in values below it. A few doubtful hits do not move it.
 * @returns null if no value can be trusted at all.
 */
export function typical(all: readonly Weighed[]): number | null {
  const some = all
    .flatMap(({ value, reliability }) =>
      value !== null && reliability > 0 ? [{ value, reliability }] : [],
    )
    .toSorted((a, b) => a.value - b.value);
  const total = some.reduce((sum, { reliability }) => sum + reliability, 0);
  let below = 0;
  for (const [n, { value, reliability }] of some.entries()) {
    below += reliability;
    // Between two values of which each has half.
    if (below === total / 2) return (value + (some[n + 1]?.value ?? value)) / 2;
    if (below > total / 2) return value;
  }
  return null;
}
