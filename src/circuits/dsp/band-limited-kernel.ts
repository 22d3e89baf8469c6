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

import { BAND_LIMITED_TAPS } from './band-limited-taps';

/** Samples from the start of the impulse to its centre of gravity. */
export const KERNEL_DELAY: i32 = 3;
/** Samples within which the impulse has passed. */
export const KERNEL_LENGTH: i32 = 32;
/** Points a sample in the design. */
export const POINTS: i32 = 4;
/** Moving averages, each over one point of the design. */
export const AVERAGES: i32 = 5;

/**
 * Gives the impulse.
 * @param points a sample: a multiple of 4, from 8 to 64.
 * @returns KERNEL_LENGTH x `points` values whose sum is 1, each spread evenly over the interval that
 *   ends at it; their centre of gravity is KERNEL_DELAY samples after the first.
 */
export function bandLimitedKernel(points: i32): StaticArray<f64> {
  const gap = (points / POINTS) | 0;
  let sum: f64 = 0;
  let moment: f64 = 0;
  const differences = new StaticArray<f64>(KERNEL_LENGTH * POINTS);
  for (let n: i32 = 0; n < BAND_LIMITED_TAPS.length; n++) {
    const tap = BAND_LIMITED_TAPS[n];
    differences[n] = tap;
    sum += tap;
    moment += tap * f64(n) * f64(gap);
  }
  for (let pass: i32 = 0; pass < AVERAGES; pass++) {
    sum *= f64(gap);
    moment *= f64(gap);
    for (let n: i32 = differences.length - 1; n > 0; n--)
      differences[n] = differences[n] - differences[n - 1];
  }
  const centre = moment / sum + f64(AVERAGES * (gap - 1)) / 2 - 0.5;
  const late = f64(KERNEL_DELAY * points) - centre;
  const whole = i32(Math.floor(late));
  const second = (late - f64(whole)) / sum;
  const first = 1 / sum - second;
  const kernel = new StaticArray<f64>(KERNEL_LENGTH * points);
  let sum1: f64 = 0;
  let sum2: f64 = 0;
  let sum3: f64 = 0;
  let sum4: f64 = 0;
  let value: f64 = 0;
  for (let i: i32 = whole; i < kernel.length; i++) {
    const before = value;
    const point = i - whole;
    if (point % gap == 0) sum1 += differences[(point / gap) | 0];
    sum2 += sum1;
    sum3 += sum2;
    sum4 += sum3;
    value += sum4;
    kernel[i] = value * first + before * second;
  }
  return kernel;
}
