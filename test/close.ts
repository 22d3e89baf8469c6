/** A comparison that says what it allows and why. */

export interface Tolerance {
  /** Allowed difference in the value's own unit. Give this or `rel`, not both. */
  readonly abs?: number;
  /** Allowed difference as a share of the expected value. */
  readonly rel?: number;
  readonly unit: string;
  /** Why the tolerance is what it is. */
  readonly why: string;
}

/**
 * Checks that a number is there, and near another.
 * @throws Error with what was got, expected and allowed, if it is not, or is NaN, or if the
 * tolerance is not one positive number.
 */
export function close(actual: number | undefined, expected: number, tolerance: Tolerance): void {
  const { abs, rel, unit, why } = tolerance;
  const allowed =
    rel === undefined ? abs : abs === undefined ? rel * Math.abs(expected) : undefined;
  if (allowed === undefined || !(allowed > 0) || !Number.isFinite(allowed))
    throw new Error('close needs either abs or rel, and a tolerance above 0');
  const delta = (actual ?? Number.NaN) - expected;
  if (Math.abs(delta) <= allowed) return;
  throw new Error(
    `got ${actual} ${unit}, expected ${expected} ${unit}: off by ${delta}, ` +
      `allowed +-${allowed}${rel === undefined ? '' : ` (${rel} of it)`}: ${why}`,
  );
}
