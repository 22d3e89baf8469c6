/**
 * Whether the level of a sound jumps up at some moment, rather than wavers.
 *
 * Method: one straight line through the levels before, in dB, and one through those after; how far
 * apart they are where they meet, in standard errors that follow from the residuals. So a decay is not
 * a jump, however fast, and a sound that wavers by itself, as narrow noise and beating partials do,
 * must jump further. Source of two regressions that meet: G. C. Chow, Tests of Equality Between
 * Sets of Coefficients in Two Linear Regressions, Econometrica 28 (1960) 591-605 (from memory). Levels
 * that waver together are worth less than as many independent ones: their variance counts (1 + r)/(1 -
 * r) times, r being the correlation of neighbours, as for a first-order process.
 */

import { mean } from '../mean.ts';

export interface Jump {
  /** Index of the level during which it happens. */
  readonly at: number;
  /** How far it goes, in standard errors. */
  readonly deviations: number;
  /** The share of it between the two levels before and the two after. */
  readonly sharpness: number;
  /** By how much the level goes on rising after it, dB; negative where it falls. */
  readonly growth: number;
}

export interface Jumpable {
  /** dB, equally spaced. Series that rise together are also judged as one. */
  readonly levels: readonly Float64Array[];
  /** How much each wavers at least, dB: a few levels that lie on a line by chance prove little. */
  readonly least: readonly number[];
  /** Index near which the jump is looked for. */
  readonly near: number;
  /** How many levels before `near` and after it belong to one sound; up to `MOST`. */
  readonly before: number;
  readonly after: number;
}

/** Levels on either side that are looked at. */
export const MOST = 24;
/** How far from `near` the jump may be. */
const EARLIER = 3;
const LATER = 1;
/** Levels that must be there before `near` and after it. */
export const MARGIN = MOST + EARLIER + 1;
/** A line through fewer than this means nothing. */
const FEWEST = 5;
/** Correlations above this are not known from so few levels. */
const MOST_TOGETHER = 0.9;

/** Two lines that leave out the level at which they meet. */
interface Break {
  readonly step: number;
  /** One standard error of the step. */
  readonly error: number;
  /** The less, the better the lines fit. */
  readonly misfit: number;
}

/** Finds where levels most likely jump, and how certainly; null where too few come before. */
export function jumpOf({ levels, least, near, before, after }: Jumpable): Jump | null {
  let best: { at: number; count: number; breaks: Break[]; misfit: number } | null = null;
  for (let at = near - EARLIER; at <= near + LATER; at++) {
    const count = Math.min(MOST, before + at - near);
    if (count < FEWEST) continue;
    const breaks = levels.map((level, k) => breakAt(level, at, count, after, least[k] as number));
    const misfit = breaks.reduce((sum, one) => sum + one.misfit, 0);
    if (best === null || misfit < best.misfit) best = { at, count, breaks, misfit };
  }
  if (best === null) return null;
  const { at, count, breaks } = best;
  const weights = breaks.map(({ error }) => 1 / error ** 2);
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const shares = weights.map((weight) => weight / total);
  const together = weighted(levels, shares, at - count, at + after + 1);
  const wavering = Math.sqrt(
    shares.reduce((sum, share, k) => sum + (share * (least[k] as number)) ** 2, 0),
  );
  let surest = jump(together, count, breakAt(together, count, count, after, wavering), after);
  breaks.forEach((one, k) => {
    const alone = jump(levels[k] as Float64Array, at, one, after);
    if (alone.deviations > surest.deviations) surest = alone;
  });
  return { ...surest, at };
}

function jump(level: Float64Array, at: number, { step, error }: Break, after: number): Jump {
  return {
    at,
    deviations: step / error,
    sharpness: (mean(level, at + 1, at + 3) - mean(level, at - 2, at)) / step,
    growth: mean(level, at + 4, at + Math.min(11, after + 1)) - mean(level, at + 1, at + 4),
  };
}

function breakAt(
  level: Float64Array,
  at: number,
  before: number,
  after: number,
  least: number,
): Break {
  const left = lineThrough(level, at - before, before);
  const right = lineThrough(level, at + 1, after);
  // From the middle of each line to where they meet.
  const fromLeft = (before + 1) / 2;
  const fromRight = (after + 1) / 2;
  const squares = left.squares + right.squares;
  const freedom = before + after - 4;
  const alike = squares > 0 ? (left.products + right.products) / squares : 0;
  const r = Math.max(0, Math.min(MOST_TOGETHER, alike));
  const variance = Math.max((squares / freedom) * ((1 + r) / (1 - r)), least * least);
  const share =
    1 / before + fromLeft ** 2 / spread(before) + 1 / after + fromRight ** 2 / spread(after);
  return {
    step: right.mean - right.slope * fromRight - left.mean - left.slope * fromLeft,
    error: Math.sqrt(variance * share),
    misfit: (freedom / (before + after)) * Math.log(squares + least * least * freedom),
  };
}

/** The sum of squared distances of `count` places from their middle. */
function spread(count: number): number {
  return (count * (count * count - 1)) / 12;
}

/** Least squares: the line, and of its residuals the squares and the products of neighbours. */
function lineThrough(level: Float64Array, from: number, count: number) {
  const middle = (count - 1) / 2;
  let sum = 0;
  let moment = 0;
  for (let n = 0; n < count; n++) {
    const value = level[from + n] as number;
    sum += value;
    moment += (n - middle) * value;
  }
  const height = sum / count;
  const slope = moment / spread(count);
  let squares = 0;
  let products = 0;
  let last = 0;
  for (let n = 0; n < count; n++) {
    const left = (level[from + n] as number) - height - slope * (n - middle);
    squares += left * left;
    products += left * last;
    last = left;
  }
  return { mean: height, slope, squares, products };
}

function weighted(
  levels: readonly Float64Array[],
  shares: readonly number[],
  from: number,
  to: number,
): Float64Array {
  const sum = new Float64Array(to - from);
  levels.forEach((level, k) => {
    for (let n = from; n < to; n++) {
      sum[n - from] = (sum[n - from] as number) + (shares[k] as number) * (level[n] as number);
    }
  });
  return sum;
}
