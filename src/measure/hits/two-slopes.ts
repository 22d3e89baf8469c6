/**
 * A fall of two slopes, as of a drum and the room, or of a click and the ringing after it.
 *
 * Model: two exponential falls whose powers add, over a floor. It is fitted to the level in dB by Gauss
 * and Newton's steps from the pair of straight lines that fits best, and accepted where its residual is
 * much smaller than that of one fall. Source of the model of two rates: N. Xiang & P. M. Goggans,
 * Evaluation of Decay Times in Coupled Spaces, J. Acoust. Soc. Am. 110 (2001) 1415-1424 (from memory).
 */

import { reliabilityOf } from '../estimate.ts';
import { eliminate } from './decay-model.ts';
import { togetherOf } from './envelope-fit.ts';
import type { FallEnvelope } from './fall-envelope.ts';

export interface TwoSlopes {
  /** Time constants of the amplitude, s: of the first fall and of the slower one after it. */
  readonly earlyTau: number;
  readonly lateTau: number;
  /** Where the second takes over, dB against the loudest. */
  readonly kneeDb: number;
  /** From 0 to 1. */
  readonly reliability: number;
}

const POINTS = 90;
const FEWEST = 16;
/** Points before and after a knee that is tried. */
const SIDE = 5;
/** Points no louder than this times the floor are left out, and points 70 dB down. */
const OVER_FLOOR = 1.5;
const FAINT = 1e-7;
/** Each slope must be visible for so many decibels, and one must be so many times slower than the other. */
const LEAST_DB = 6;
const SLOWER = 1.6;
/** Two more numbers are accepted where the logarithm of the likelihood gains this much. */
const WORTH = 12;
const ROUNDS = 12;
const DB = 10 / Math.LN10;

/** Finds two slopes; null for a fall of one, or none that can be told. */
export function twoSlopes({
  power,
  floor,
  least: coarse,
  step,
  window,
}: FallEnvelope): TwoSlopes | null {
  const least = Math.max(coarse, OVER_FLOOR * floor, FAINT * (power[0] ?? 0));
  // Half a window after the loudest point the rise no longer shows.
  const first = Math.ceil(window / step / 2);
  let last = first;
  while (last < power.length && (power[last] as number) > least) last++;
  const stride = Math.max(1, Math.floor((last - first) / POINTS));
  const count = Math.floor((last - first) / stride);
  if (count < FEWEST) return null;
  const x = Float64Array.from({ length: count }, (_, i) => i * stride * step);
  const y = Float64Array.from({ length: count }, (_, i) =>
    Math.log((power[first + i * stride] as number) - floor),
  );
  const knee = kneeOf(x, y);
  if (knee === null) return null;
  const overlap = Math.max(1, window / (stride * step) / 2);
  // Most falls have one slope, which two lines show quickly.
  if ((count / overlap) * Math.log(knee.straight / knee.squares) < 2 * WORTH) return null;
  const model = refined(x, y, knee.start);
  const found = left(x, y, model);
  const together = Math.max(overlap, togetherOf(found));
  if ((count / together) * Math.log(knee.straight / squaresOf(found)) < 2 * WORTH) return null;
  const [a, r, b, s] = model;
  if (!(r > SLOWER * s && s > 0)) return null;
  // Both falls are equally loud here.
  const cross = (a - b) / (r - s);
  const end = x[count - 1] as number;
  if (DB * r * cross < LEAST_DB || DB * s * (end - cross) < LEAST_DB) return null;
  const error = errorOf(x, y, model, together);
  return {
    earlyTau: 2 / r,
    lateTau: 2 / s,
    kneeDb: DB * (a - r * cross - Math.log((power[0] as number) - floor)),
    reliability: reliabilityOf(error),
  };
}

/** ln of the power of the first fall at x = 0, its rate, 1/s; and of the second. */
type KneeLines = readonly [number, number, number, number];

/** The two straight lines that fit best, and the residual of one line alone. */
function kneeOf(
  x: Float64Array,
  y: Float64Array,
): { start: KneeLines; straight: number; squares: number } | null {
  const sums = new LineSums(x, y);
  const straight = sums.line(0, x.length).squares;
  let best: { early: FittedLine; late: FittedLine; squares: number } | null = null;
  for (let at = SIDE; at <= x.length - SIDE; at++) {
    const early = sums.line(0, at);
    const late = sums.line(at, x.length);
    const squares = early.squares + late.squares;
    const isKnee = late.slope < 0 && early.slope < SLOWER * late.slope;
    if (isKnee && (best === null || squares < best.squares)) best = { early, late, squares };
  }
  if (best === null) return null;
  const { early, late, squares } = best;
  return { start: [early.height, -early.slope, late.height, -late.slope], straight, squares };
}

interface FittedLine {
  /** At x = 0. */
  readonly height: number;
  readonly slope: number;
  /** Of its residuals. */
  readonly squares: number;
}

/** Sums up to each point, so that the line through any stretch is one difference. */
class LineSums {
  private readonly sums: readonly Float64Array[];

  constructor(x: Float64Array, y: Float64Array) {
    const terms = [
      (i: number) => x[i] as number,
      (i: number) => (x[i] as number) ** 2,
      (i: number) => y[i] as number,
      (i: number) => (x[i] as number) * (y[i] as number),
      (i: number) => (y[i] as number) ** 2,
    ];
    this.sums = terms.map((term) => {
      const sum = new Float64Array(x.length + 1);
      for (let i = 0; i < x.length; i++) sum[i + 1] = (sum[i] as number) + term(i);
      return sum;
    });
  }

  /** Least squares through the points `from` to `to`. */
  line(from: number, to: number): FittedLine {
    const [x1, x2, y1, xy, y2] = this.sums.map(
      (sum) => (sum[to] as number) - (sum[from] as number),
    ) as [number, number, number, number, number];
    const count = to - from;
    const spread = x2 - (x1 * x1) / count;
    const slope = spread > 0 ? (xy - (x1 * y1) / count) / spread : 0;
    const height = (y1 - slope * x1) / count;
    const squares = y2 - (y1 * y1) / count - slope * slope * spread;
    return { height, slope, squares: Math.max(1e-12, squares) };
  }
}

/** Steps from the start for as long as each improves the fit. */
function refined(x: Float64Array, y: Float64Array, start: KneeLines): KneeLines {
  let model = start;
  let squares = squaresOf(left(x, y, model));
  for (let round = 0; round < ROUNDS; round++) {
    const { matrix, right } = normalEquations(x, y, model);
    const change = eliminate(matrix, right);
    let share = 1;
    let next = model;
    for (; share > 0.05; share /= 2) {
      next = model.map((value, k) => value + share * (change[k] as number)) as unknown as KneeLines;
      if (next[1] > 0 && next[3] > 0 && squaresOf(left(x, y, next)) < squares) break;
    }
    if (share <= 0.05) return model;
    const now = squaresOf(left(x, y, next));
    model = next;
    if (now > 0.999 * squares) return model;
    squares = now;
  }
  return model;
}

/** Measured less predicted ln of the power. */
function left(x: Float64Array, y: Float64Array, [a, r, b, s]: KneeLines): Float64Array {
  return x.map((t, i) => {
    const one = a - r * t;
    const other = b - s * t;
    const most = Math.max(one, other);
    return (y[i] as number) - most - Math.log1p(Math.exp(-Math.abs(one - other)));
  });
}

function squaresOf(values: Float64Array): number {
  let sum = 1e-12;
  for (let i = 0; i < values.length; i++) sum += (values[i] as number) ** 2;
  return sum;
}

function normalEquations(x: Float64Array, y: Float64Array, model: KneeLines) {
  const matrix = Array.from({ length: 4 }, () => new Float64Array(4));
  const right = new Float64Array(4);
  const found = left(x, y, model);
  const [a, r, b, s] = model;
  const slopes = new Float64Array(4);
  for (let i = 0; i < x.length; i++) {
    const t = x[i] as number;
    const share = 1 / (1 + Math.exp(b - s * t - a + r * t));
    slopes.set([share, -t * share, 1 - share, -t * (1 - share)]);
    for (let k = 0; k < 4; k++) {
      const row = matrix[k] as Float64Array;
      for (let l = 0; l < 4; l++) {
        row[l] = (row[l] as number) + (slopes[k] as number) * (slopes[l] as number);
      }
      right[k] = (right[k] as number) + (slopes[k] as number) * (found[i] as number);
    }
  }
  return { matrix, right };
}

/** One standard error of the less certain of the two rates, as a share of it. */
function errorOf(x: Float64Array, y: Float64Array, model: KneeLines, together: number): number {
  const freedom = x.length / together - 4;
  if (freedom <= 2) return Number.POSITIVE_INFINITY;
  const variance = squaresOf(left(x, y, model)) / (freedom - 2);
  const of = (k: number) => {
    const unit = new Float64Array(4);
    unit[k] = 1;
    const row = eliminate(normalEquations(x, y, model).matrix, unit)[k] as number;
    return Math.sqrt(variance * Math.max(0, row)) / (model[k] as number);
  };
  return Math.max(of(1), of(3));
}
