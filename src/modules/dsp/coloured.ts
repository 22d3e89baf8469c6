/**
 * Filters that turn white noise into pink (-3.01 dB an octave) and red (-6.02 dB an octave), as
 * coefficients for a given rate. Both stay within 0.15 dB of their slope from 20 Hz to 20 kHz at
 * rates from 44.1 to 192 kHz, and within 0.25 dB up to 0.4 of a lower rate, down to 22.05 kHz.
 *
 *   T(z) = 1 / (1 + d/z)                                 shared top
 *   pink(z) = (1 + c/z) T(z) product of (1 - zero[k]/z) / (1 - pole[k]/z), k = 0..4
 *   red(z)  = (1 + c'/z) T(z) (1 - 1/z) / ((1 - A/z)(1 - 1/z) + B/z)
 *
 * Pink: poles and zeros alternate, evenly spaced in the logarithm of frequency, so that steps of
 * -6 and 0 dB an octave average to -3; each is the matched-z image, exp(-2 pi f/rate), of its
 * frequency. Red: an integrator behind a two-pole Butterworth high-pass at 7 Hz, since 1/f^2 has no
 * bottom and would wander off. A plain digital integrator falls too little near half the rate, by
 * 20 log10(2 cos(pi f/rate)) an octave, and so does a plain ladder: the top makes up for it.
 *
 * Source: the alternating ladder is common practice, no source; matched-z: Oppenheim & Schafer,
 * Discrete-Time Signal Processing, ch. 7 (from memory). The first five constants below are a
 * minimax fit made for this file over 20 Hz to 20 kHz at six rates from 44.1 to 192 kHz; the test recomputes
 * the error. They are on the axis of frequency over rate, so one set serves all rates.
 */

import { cosTurns, exp, log, sinTurns } from './math.ts';

const TWO_PI = 6.283185307179586;
const STEPS = 5;
/** Hz, the lowest pole of pink: below it the noise is white. */
const PINK_BOTTOM_HZ = 5.66;
/** The highest pole of pink, radians a sample. */
const PINK_TOP = 0.6352;
const PINK_ZERO = 0.2698;
const RED_ZERO = 0.3146;
const TOP_POLE = 0.1381;
/** Hz, the high-pass that keeps red noise from wandering. */
const RED_BOTTOM_HZ = 7;

/** Hz: the level of white noise is its rms from 0 Hz up to here. */
export const WHITE_TO_HZ = 24_000;
/** Hz, the band whose rms the levels of pink and red noise are. */
const BAND_FROM_HZ = 20;
const BAND_TO_HZ = 20_000;

/** Pink noise as a sum: direct x + top t + sum of weight[k] s[k]; s[k] = pole[k] s[k] + x. */
export interface PinkFilter {
  /** t = x - topPole t, shared with red. */
  readonly topPole: number;
  readonly poles: readonly number[];
  readonly weights: readonly number[];
  readonly top: number;
  readonly direct: number;
}

/** Red noise: r = decay r + t + zero t' - pull i; i = i + r, t' being the t before. */
export interface RedFilter {
  readonly zero: number;
  readonly decay: number;
  readonly pull: number;
  readonly gain: number;
}

/**
 * Designs the pink filter.
 * @param sampleRate Hz.
 * @returns coefficients for white noise of rms 1 in, pink noise of rms 1 from 20 Hz to 20 kHz out.
 */
export function pinkFilter(sampleRate: number): PinkFilter {
  const bottom = (TWO_PI * PINK_BOTTOM_HZ) / sampleRate;
  const spacing = log(PINK_TOP / bottom) / (STEPS - 1);
  const poles: number[] = [];
  const zeros: number[] = [];
  for (let k = 0; k < STEPS; k++) {
    poles.push(exp(-bottom * exp(spacing * k)));
    zeros.push(exp(-bottom * exp(spacing * (k + 0.5))));
  }
  // Partial fractions in u = 1/z. The poles are all different, so each has one term.
  const factors = [...poles, -TOP_POLE];
  const numerator = [...zeros, -PINK_ZERO];
  const terms = factors.map((pole) => {
    let term = 1;
    for (const zero of numerator) term *= 1 - zero / pole;
    for (const other of factors) if (other !== pole) term /= 1 - other / pole;
    return term;
  });
  let direct = 1;
  numerator.forEach((zero, k) => {
    direct *= zero / (factors[k] as number);
  });
  const gain = bandGain(sampleRate, 1, (turns) => {
    let power = 1;
    numerator.forEach((zero, k) => {
      power *= sectionPower(zero, turns) / sectionPower(factors[k] as number, turns);
    });
    return power;
  });
  return {
    topPole: TOP_POLE,
    poles,
    weights: terms.slice(0, STEPS).map((term) => term * gain),
    top: (terms[STEPS] as number) * gain,
    direct: direct * gain,
  };
}

/**
 * Designs the red filter.
 * @param sampleRate Hz.
 * @returns coefficients for white noise of rms 1 in, red noise of rms 1 from 20 Hz to 20 kHz out.
 */
export function redFilter(sampleRate: number): RedFilter {
  // Matched-z of s / (s^2 + sqrt2 w s + w^2): poles at -w/sqrt2 (1 +- j).
  const side = (RED_BOTTOM_HZ / sampleRate) * Math.SQRT1_2;
  const radius = exp(-TWO_PI * side);
  const decay = radius * radius;
  const sum = 2 * radius * cosTurns(side);
  const gain = bandGain(sampleRate, 2, (turns) => {
    const cos = cosTurns(turns);
    const sin = sinTurns(turns);
    // 1 - sum u + decay u^2 at u = exp(-j 2 pi turns), times conj(u), which keeps its magnitude.
    const real = (1 + decay) * cos - sum;
    const imaginary = (1 - decay) * sin;
    return (
      (sectionPower(-RED_ZERO, turns) * sectionPower(1, turns)) /
      (sectionPower(-TOP_POLE, turns) * (real * real + imaginary * imaginary))
    );
  });
  return { zero: RED_ZERO, decay, pull: 1 + decay - sum, gain };
}

/** |1 - a/z|^2 on the unit circle. */
function sectionPower(a: number, turns: number): number {
  const s = sinTurns(turns / 2);
  // The same as 1 + a^2 - 2 a cos, without its cancellation near zero frequency.
  return (1 - a) * (1 - a) + 4 * a * s * s;
}

/**
 * The gain that gives rms 1 from 20 Hz to 20 kHz.
 *
 * White noise of rms 1 has the density 2/rate a hertz. Noise of rms 1 in the band has the density
 * C/f^slope with C = 1/ln(to/from), or 1/(1/from - 1/to). The filter is near that slope
 * everywhere, so the mean of its decibels over third octaves against the slope's is its level.
 */
function bandGain(sampleRate: number, slope: 1 | 2, power: (turns: number) => number): number {
  const constant =
    slope === 1 ? 1 / log(BAND_TO_HZ / BAND_FROM_HZ) : 1 / (1 / BAND_FROM_HZ - 1 / BAND_TO_HZ);
  let sum = 0;
  let count = 0;
  const third = exp(log(10) / 10);
  for (let hertz = BAND_FROM_HZ; hertz < BAND_TO_HZ * 1.01; hertz *= third) {
    if (hertz > 0.45 * sampleRate) break;
    const wanted = constant / (slope === 1 ? hertz : hertz * hertz);
    sum += log((wanted * sampleRate) / (2 * power(hertz / sampleRate)));
    count += 1;
  }
  return exp(sum / count / 2);
}
