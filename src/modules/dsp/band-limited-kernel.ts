/**
 * The low-pass impulse whose running sum is a band-limited step, at any number of points a sample.
 *
 * It is designed at four points a sample; moving averages fill in the rest, and the design makes up
 * for their droop. A whole number of samples is then put between its start and its centre of
 * gravity, so that a wave delayed by plain samples stays in line with it.
 *
 * Source: Hogenauer, "An economical class of digital filters for decimation and interpolation", IEEE
 * Trans. ASSP 29 (1981) 155 (moving averages; from memory). The design: see band-limited-taps.ts.
 */

import { BAND_LIMITED_TAPS } from './band-limited-taps.ts';

/** Samples from the start of the impulse to its centre of gravity. */
export const KERNEL_DELAY = 3;
/** Samples within which the impulse has passed. */
export const KERNEL_LENGTH = 32;
/** Points a sample in the design. */
export const POINTS = 4;
/** Moving averages, each over one point of the design. */
export const AVERAGES = 5;

/**
 * Gives the impulse.
 * @param points a sample: a multiple of 4, from 8 to 64.
 * @returns KERNEL_LENGTH x `points` values whose sum is 1, each spread evenly over the interval that
 *   ends at it; their centre of gravity is KERNEL_DELAY samples after the first.
 */
export function bandLimitedKernel(points: number): Float64Array {
  const gap = points / POINTS;
  let sum = 0;
  let moment = 0;
  const differences = new Float64Array(KERNEL_LENGTH * POINTS);
  for (let n = 0; n < BAND_LIMITED_TAPS.length; n++) {
    const tap = BAND_LIMITED_TAPS[n] as number;
    differences[n] = tap;
    sum += tap;
    moment += tap * n * gap;
  }
  for (let pass = 0; pass < AVERAGES; pass++) {
    sum *= gap;
    moment *= gap;
    for (let n = differences.length - 1; n > 0; n--) {
      differences[n] = (differences[n] as number) - (differences[n - 1] as number);
    }
  }
  const centre = moment / sum + (AVERAGES * (gap - 1)) / 2 - 0.5;
  const late = KERNEL_DELAY * points - centre;
  const whole = Math.floor(late);
  // A fraction of a point is made by sharing each value between two.
  const second = (late - whole) / sum;
  const first = 1 / sum - second;

  // Differences between taps, then as many running sums over all points, are moving averages. The
  // taps are whole numbers, so the sums are exact and end at 0.
  const kernel = new Float64Array(KERNEL_LENGTH * points);
  let sum1 = 0;
  let sum2 = 0;
  let sum3 = 0;
  let sum4 = 0;
  let value = 0;
  for (let i = whole; i < kernel.length; i++) {
    const before = value;
    const point = i - whole;
    if (point % gap === 0) sum1 += differences[point / gap] as number;
    sum2 += sum1;
    sum3 += sum2;
    sum4 += sum3;
    value += sum4;
    kernel[i] = value * first + before * second;
  }
  return kernel;
}
