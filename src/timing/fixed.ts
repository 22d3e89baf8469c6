/**
 * Exact lengths of time, in samples. Where a section of the song starts is worked out in whole
 * numbers: a length is a BigInt that counts parts of 2^-128 of a sample, so that not even a million
 * repeats of a rounded part reach 2^-100 of a sample. For the many edges inside a section the length
 * is split into whole samples and a fraction, whose sums stay right to about 2^-46 of a sample.
 */

/** A length of time in parts of 2^-128 of a sample (of a second, where the rate is 1 Hz). */
export type Fixed = bigint;

/** A fraction of two whole numbers; the denominator is positive. */
export interface Ratio {
  readonly num: bigint;
  readonly den: bigint;
}

/** A length as whole samples and a rest; sums of these need not keep the rest under 1. */
export interface Split {
  readonly whole: number;
  readonly fraction: number;
}

const FRACTION_BITS = 128n;
const FRACTION_MASK = (1n << FRACTION_BITS) - 1n;
const DIGITS = 15;
const TWO_TO_64 = Number(1n << 64n);

/**
 * A half, and room for the rounding of {@link Split} sums (2^-40): what lies within 9e-13 of a sample
 * under an exact half is taken for that half. Times of common tempos do lie on exact halves (a
 * sixteenth at 120 bpm is 5512.5 samples at 44.1 kHz); any other time whose fraction of a sample has
 * a denominator under 5e11 is further from a half than that.
 */
const HALF = 0.5 + 9.094947017729282e-13;

/**
 * Gives the decimal number that a person wrote, exactly: 92.1 is 921/10, not the nearest double.
 * @param x any finite number; its first 15 significant digits are kept, which a double always holds.
 * @throws RangeError for NaN and infinities.
 */
export function decimal(x: number): Ratio {
  if (!Number.isFinite(x)) throw new RangeError(`expected a finite number, got ${x}`);
  if (Number.isSafeInteger(x) && Math.abs(x) < 1e15) return { num: BigInt(x), den: 1n };
  const [digits = '', exponent = ''] = x.toExponential(DIGITS - 1).split('e');
  const num = BigInt(digits.replace('.', ''));
  const power = Number(exponent) - (DIGITS - 1);
  return power >= 0 ? { num: num * powerOfTen(power), den: 1n } : { num, den: powerOfTen(-power) };
}

/** Multiplies two ratios. */
export function product(a: Ratio, b: Ratio): Ratio {
  return { num: a.num * b.num, den: a.den * b.den };
}

/** Gives a ratio as a length, rounded towards zero to 2^-128. */
export function fixed({ num, den }: Ratio): Fixed {
  return (num << FRACTION_BITS) / den;
}

/** Multiplies a length by a ratio. */
export function scaled(length: Fixed, { num, den }: Ratio): Fixed {
  return (length * num) / den;
}

/** Splits a length into whole samples (rounded down) and a fraction from 0 to 1. */
export function split(length: Fixed): Split {
  return {
    whole: Number(length >> FRACTION_BITS),
    fraction: Number((length & FRACTION_MASK) >> 64n) / TWO_TO_64,
  };
}

/** Gives a time that a person wrote, in seconds, as samples. */
export function samplesOf(seconds: number, sampleRate: number): Split {
  return split(fixed(product(decimal(seconds), decimal(sampleRate))));
}

/** Gives the nearest double of a length. */
export function toNumber(length: Fixed): number {
  const { whole, fraction } = split(length);
  return whole + fraction;
}

/** Rounds whole samples and a rest, of any sign, to the nearest sample; halves go up. */
export function nearestSample(whole: number, fraction: number): number {
  return whole + Math.floor(fraction + HALF);
}

/** Worked out once each: there are some three hundred. */
const POWERS_OF_TEN: bigint[] = [];

function powerOfTen(exponent: number): bigint {
  POWERS_OF_TEN[exponent] ??= BigInt(`1${'0'.repeat(exponent)}`);
  return POWERS_OF_TEN[exponent] as bigint;
}
