const LN2: f64 = Math.LN2;
const LOG2_10: f64 = 3.321928094887362;
const LOG2_E: f64 = Math.LOG2E;
const SQRT2: f64 = Math.SQRT2;
const TWO_PI: f64 = 6.283185307179586;
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
 * Sine of an angle given in turns: sin(2 pi turns). Exact at quarter turns.
 * @param turns any finite number; whole turns are dropped first, so large angles lose nothing more.
 */
export function sinTurns(turns: f64): f64 {
  let t = turns - Math.round(turns);
  if (t > 0.25) t = 0.5 - t;
  else if (t < -0.25) t = -0.5 - t;
  if (t == 0.25) return 1;
  if (t == -0.25) return -1;
  const x = t * TWO_PI;
  const x2 = x * x;
  return (
    x *
    (1 +
      x2 *
        (S3 +
          x2 *
            (S5 +
              x2 *
                (S7 +
                  x2 *
                    (S9 +
                      x2 * (S11 + x2 * (S13 + x2 * (S15 + x2 * (S17 + x2 * (S19 + x2 * S21))))))))))
  );
}

/** Cosine of an angle given in turns: cos(2 pi turns). */
export function cosTurns(turns: f64): f64 {
  const t = turns - Math.round(turns);
  return sinTurns(0.25 - (t < 0 ? -t : t));
}

/**
 * Angle of a slope: the arc tangent, in radians.
 *
 * Method: the angle is halved twice, atan x = 2 atan(x/(1 + sqrt(1 + x^2))), so that what is left is
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

const S3: f64 = -1.0 / 6;
const S5: f64 = 1.0 / 120;
const S7: f64 = -1.0 / 5040;
const S9: f64 = 1.0 / 362880;
const S11: f64 = -1.0 / 39916800;
const S13: f64 = 1.0 / 6227020800.0;
const S15: f64 = -1.0 / 1307674368000.0;
const S17: f64 = 1.0 / 355687428096000.0;
const S19: f64 = -1.0 / 121645100408832000.0;
const S21: f64 = 1.0 / 51090942171709440000.0;

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
