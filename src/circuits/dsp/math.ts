import { S3, S5, S7, S9, S11, S13, S15, S17, S19, S21, TWO_PI } from './turns';

const LN2: f64 = Math.LN2;
const LOG2_10: f64 = 3.321928094887362;
const LOG2_E: f64 = Math.LOG2E;
const SQRT2: f64 = Math.SQRT2;
const QUARTER_TURN: f64 = 1.5707963267948966;

const MIN_EXPONENT: i32 = -1074;
const POWERS_OF_TWO: StaticArray<f64> = powersOfTwo();
const SIXTY_FOURTHS: StaticArray<f64> = rootsOfTwo();
const LN2_BY_64: f64 = LN2 / 64;

/** Two to the power `x`. */
export function exp2(x: f64): f64 {
  if (x < -1022) return 0;
  if (!(x < 1024)) return x >= 1024 ? Infinity : NaN;
  const scaled = x * 64;
  const floor = Math.floor(scaled + 0.5);
  const k = i32(floor);
  const r = (scaled - floor) * LN2_BY_64;
  const series = 1 + r * (1 + r * (1.0 / 2 + r * (1.0 / 6 + r * (1.0 / 24 + r * (1.0 / 120)))));
  return POWERS_OF_TWO[(k >> 6) - MIN_EXPONENT] * SIXTY_FOURTHS[k & 63] * series;
}

/** e to the power `x`, within about |x| + 3 units in the last place. Limits as for {@link exp2}. */
export function exp(x: f64): f64 {
  return exp2(x * LOG2_E);
}

/** The gain of `db` decibels: 10^(db/20). Minus infinity gives 0. */
export function gainOfDb(db: f64): f64 {
  return exp2(db * (LOG2_10 / 20));
}

/**
 * Logarithm to base two.
 * @param x a positive number; 0 gives -Infinity, a negative number or NaN gives NaN.
 */
export function log2(x: f64): f64 {
  if (!(x > 0)) return x == 0 ? -Infinity : NaN;
  if (x == Infinity) return x;
  let exponent: f64 = 0;
  let mantissa = x;
  for (let step: i32 = 512; step >= 1; step >>= 1) {
    while (mantissa >= POWERS_OF_TWO[step - MIN_EXPONENT]) {
      mantissa *= POWERS_OF_TWO[-step - MIN_EXPONENT];
      exponent += f64(step);
    }
    while (mantissa < POWERS_OF_TWO[1 - step - MIN_EXPONENT]) {
      mantissa *= POWERS_OF_TWO[step - MIN_EXPONENT];
      exponent -= f64(step);
    }
  }
  if (mantissa > SQRT2) {
    mantissa *= 0.5;
    exponent += 1;
  }
  const s = (mantissa - 1) / (mantissa + 1);
  const s2 = s * s;
  let sum: f64 = 0;
  for (let n: f64 = 23; n >= 3; n -= 2) sum = (sum + 1 / n) * s2;
  return exponent + 2 * s * (1 + sum) * LOG2_E;
}

/** Natural logarithm; limits as for {@link log2}. */
export function log(x: f64): f64 {
  return log2(x) * LN2;
}

/**
 * Angle of a slope: the arc tangent, in radians.
 *
 * Method: the angle is halved twice, atan x = 2 atan(x/(1 + sqrt(1 + x^2))), so that the rest is
 * under 0.2, then summed by its series (Abramowitz & Stegun 4.4.42; from memory).
 * @param x any number; infinity gives a quarter turn.
 */
export function atan(x: f64): f64 {
  const size = Math.abs(x);
  const reached = size > 1 ? 1 / size : size;
  const half = reached / (1 + Math.sqrt(1 + reached * reached));
  const y = half / (1 + Math.sqrt(1 + half * half));
  const y2 = y * y;
  let sum: f64 = 0;
  for (let n: f64 = 23; n >= 3; n -= 2) sum = y2 * (1 / n - sum);
  const angle = 4 * (y - y * sum);
  const whole = size > 1 ? QUARTER_TURN - angle : angle;
  return x < 0 ? -whole : whole;
}

function powersOfTwo(): StaticArray<f64> {
  const table = new StaticArray<f64>(1024 - MIN_EXPONENT);
  let up: f64 = 1;
  for (let e: i32 = 0; e < 1024; e++, up *= 2) table[e - MIN_EXPONENT] = up;
  let down: f64 = 1;
  for (let e: i32 = 0; e >= MIN_EXPONENT; e--, down *= 0.5) table[e - MIN_EXPONENT] = down;
  return table;
}

/** 2^(i/64), each a product of square roots of two, since sqrt too is rounded alike everywhere. */
function rootsOfTwo(): StaticArray<f64> {
  const table = new StaticArray<f64>(64);
  table[0] = 1;
  let root: f64 = 2;
  for (let bit: i32 = 32; bit >= 1; bit >>= 1) {
    root = Math.sqrt(root);
    for (let i: i32 = 0; i < 64; i += 2 * bit) table[i + bit] = table[i] * root;
  }
  return table;
}

/** Cosine in lane 0, sine in lane 1: the same sums as cosTurns and sinTurns, both at once. */
export function cosSinTurns(turns: f64): v128 {
  const t = turns - Math.round(turns);
  const c = folded(0.25 - (t < 0 ? -t : t));
  const d = folded(t);
  const x = f64x2.mul(f64x2.replace_lane(f64x2.splat(c), 1, d), f64x2.splat(TWO_PI));
  const x2 = f64x2.mul(x, x);
  let sum = f64x2.mul(x2, f64x2.splat(S21));
  sum = f64x2.mul(x2, f64x2.add(f64x2.splat(S19), sum));
  sum = f64x2.mul(x2, f64x2.add(f64x2.splat(S17), sum));
  sum = f64x2.mul(x2, f64x2.add(f64x2.splat(S15), sum));
  sum = f64x2.mul(x2, f64x2.add(f64x2.splat(S13), sum));
  sum = f64x2.mul(x2, f64x2.add(f64x2.splat(S11), sum));
  sum = f64x2.mul(x2, f64x2.add(f64x2.splat(S9), sum));
  sum = f64x2.mul(x2, f64x2.add(f64x2.splat(S7), sum));
  sum = f64x2.mul(x2, f64x2.add(f64x2.splat(S5), sum));
  sum = f64x2.mul(x2, f64x2.add(f64x2.splat(S3), sum));
  return f64x2.mul(x, f64x2.add(f64x2.splat(1), sum));
}

function folded(t: f64): f64 {
  return t > 0.25 ? 0.5 - t : t < -0.25 ? -0.5 - t : t;
}
