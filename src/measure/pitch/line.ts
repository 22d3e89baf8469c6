/** The straight line of least squares through levels over time. */

export interface LevelLine {
  /** dB a second. */
  readonly perSecond: number;
  /** dB at time 0. */
  readonly atZero: number;
  /** One standard error of the slope, as a share of it, if the points are independent; infinite for two. */
  readonly error: number;
}

/** @param points two or more, in dB, at times in s that are not all the same. */
export function lineThrough(
  points: readonly { readonly time: number; readonly db: number }[],
): LevelLine {
  const mean = (of: (one: { time: number; db: number }) => number): number =>
    points.reduce((sum, one) => sum + of(one), 0) / points.length;
  const [time, db] = [mean((one) => one.time), mean((one) => one.db)];
  const spread = mean((one) => (one.time - time) ** 2);
  const perSecond = mean((one) => (one.time - time) * (one.db - db)) / spread;
  const atZero = db - perSecond * time;
  const left = mean((one) => (one.db - atZero - perSecond * one.time) ** 2);
  const freedom = points.length - 2;
  const error =
    freedom > 0
      ? Math.sqrt(left / (freedom * spread)) / Math.abs(perSecond)
      : Number.POSITIVE_INFINITY;
  return { perSecond, atZero, error };
}
