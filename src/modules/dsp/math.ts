/**
 * Elementary functions made of + - * / alone, which IEEE 754 rounds the same way everywhere. The
 * `Math` versions may differ in the last bit from one JavaScript engine to the next, and the same
 * patch must give the same bytes in all of them. A test forbids the `Math` ones in the engine.
 *
 * Method: argument reduction and Taylor or atanh series. Source: Abramowitz & Stegun,
 * Handbook of Mathematical Functions, 4.1.27 (atanh series), 4.2.1 (exp).
 */

import { cosTurns, sinTurns } from '../../circuits/dsp/turns.ts';

export { cosTurns, sinTurns };

const LN2 = Math.LN2;
const LOG2_10 = 3.321928094887362;
const LOG2_E = Math.LOG2E;

const MIN_EXPONENT = -1074;
const POWERS_OF_TWO = powersOfTwo();
const SIXTY_FOURTHS = rootsOfTwo();
const LN2_BY_64 = LN2 / 64;

/**
 * Two to the power `x`.
 * @param x any number; below -1022 the result is 0 (no denormals), from 1024 on Infinity.
 * @returns 2^x within 3 units in the last place. NaN gives NaN.
 */
export function exp2(x: number): number {
  if (x < -1022) return 0;
  if (!(x < 1024)) return x >= 1024 ? Number.POSITIVE_INFINITY : Number.NaN;
  const scaled = x * 64;
  // Faster than Math.round here, and the same: |scaled| is below 2^17.
  const k = Math.floor(scaled + 0.5);
  const r = (scaled - k) * LN2_BY_64;
  const series = 1 + r * (1 + r * (1 / 2 + r * (1 / 6 + r * (1 / 24 + r * (1 / 120)))));
  return (
    (POWERS_OF_TWO[(k >> 6) - MIN_EXPONENT] as number) * (SIXTY_FOURTHS[k & 63] as number) * series
  );
}

/** e to the power `x`, within about |x| + 3 units in the last place. Limits as for {@link exp2}. */
export function exp(x: number): number {
  return exp2(x * LOG2_E);
}

/** The gain of `db` decibels: 10^(db/20). Minus infinity gives 0. */
export function gainOfDb(db: number): number {
  return exp2(db * (LOG2_10 / 20));
}

/**
 * Logarithm to base two.
 * @param x a positive number; 0 gives -Infinity, a negative number or NaN gives NaN.
 */
export function log2(x: number): number {
  if (!(x > 0)) return x === 0 ? Number.NEGATIVE_INFINITY : Number.NaN;
  if (x === Number.POSITIVE_INFINITY) return x;
  let exponent = 0;
  let mantissa = x;
  // Powers of two scale without rounding, so a plain search for the exponent is exact.
  for (let step = 512; step >= 1; step >>= 1) {
    while (mantissa >= (POWERS_OF_TWO[step - MIN_EXPONENT] as number)) {
      mantissa *= POWERS_OF_TWO[-step - MIN_EXPONENT] as number;
      exponent += step;
    }
    while (mantissa < (POWERS_OF_TWO[1 - step - MIN_EXPONENT] as number)) {
      mantissa *= POWERS_OF_TWO[step - MIN_EXPONENT] as number;
      exponent -= step;
    }
  }
  if (mantissa > Math.SQRT2) {
    mantissa *= 0.5;
    exponent += 1;
  }
  // ln m = 2 atanh(s), s = (m - 1)/(m + 1), |s| < 0.1716: eleven terms reach double precision.
  const s = (mantissa - 1) / (mantissa + 1);
  const s2 = s * s;
  let sum = 0;
  for (let n = 23; n >= 3; n -= 2) sum = (sum + 1 / n) * s2;
  return exponent + 2 * s * (1 + sum) * LOG2_E;
}

/** Natural logarithm; limits as for {@link log2}. */
export function log(x: number): number {
  return log2(x) * LN2;
}

/** Decibels of a gain: 20 log10(gain). 0 gives -Infinity. */
export function dbOfGain(gain: number): number {
  return (20 / LOG2_10) * log2(gain);
}

/**
 * Tangent of an angle given in turns: tan(2 pi turns).
 * @param turns between -0.25 and 0.25, where it goes to infinity.
 */
export function tanTurns(turns: number): number {
  return sinTurns(turns) / cosTurns(turns);
}

function powersOfTwo(): Float64Array {
  const table = new Float64Array(1024 - MIN_EXPONENT);
  let up = 1;
  for (let e = 0; e < 1024; e++, up *= 2) table[e - MIN_EXPONENT] = up;
  let down = 1;
  for (let e = 0; e >= MIN_EXPONENT; e--, down *= 0.5) table[e - MIN_EXPONENT] = down;
  return table;
}

/** 2^(i/64), each a product of square roots of two, since sqrt too is rounded alike everywhere. */
function rootsOfTwo(): Float64Array {
  const table = new Float64Array(64);
  table[0] = 1;
  let root = 2;
  for (let bit = 32; bit >= 1; bit >>= 1) {
    root = Math.sqrt(root); // 2^(bit/64)
    for (let i = 0; i < 64; i += 2 * bit) table[i + bit] = (table[i] as number) * root;
  }
  return table;
}
