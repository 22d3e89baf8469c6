/**
 * Low-pass impulses at any number of points a sample: the one whose running sum is a band-limited step, and
 * others that are designed at POINTS a sample.
 *
 * A design has four points a sample; moving averages fill in the rest, and the design compensates their
 * droop. For the step a whole number of samples is then put between the impulse's start and its centre of
 * gravity, so that a wave delayed by plain samples stays in line with it.
 *
 * Source: Hogenauer, "An economical class of digital filters for decimation and interpolation", IEEE
 * Trans. ASSP 29 (1981) 155 (moving averages; from memory). The designs: see band-limited-taps.ts.
 */

import { BAND_LIMITED_TAPS } from './band-limited-taps';

/** Samples from the start of the impulse to its centre of gravity. */
export const KERNEL_DELAY: i32 = 3;
/** Samples within which the impulse has passed. */
export const KERNEL_LENGTH: i32 = 38;
/** Points a sample in the design. */
export const POINTS: i32 = 4;
/** Moving averages, each over one point of the design. */
export const AVERAGES: i32 = 6;

/**
 * Gives the impulse of a band-limited step.
 * @param points a sample: a multiple of 4.
 * @returns KERNEL_LENGTH x `points` values whose sum is 1, each spread evenly over the interval that
 *   ends at it; their centre of gravity is KERNEL_DELAY samples after the first.
 */
export function bandLimitedKernel(points: i32): StaticArray<f64> {
  const spread = spreadTaps(BAND_LIMITED_TAPS, points, KERNEL_LENGTH);
  let moment: f64 = 0;
  for (let i: i32 = 0; i < spread.length; i++) moment += spread[i] * (f64(i) - 0.5);
  const late = f64(KERNEL_DELAY * points) - moment;
  const whole = i32(Math.floor(late));
  const second = late - f64(whole);
  const kernel = new StaticArray<f64>(spread.length);
  for (let i: i32 = whole; i < kernel.length; i++) {
    const before = i > whole ? spread[i - whole - 1] : 0;
    kernel[i] = spread[i - whole] * (1 - second) + before * second;
  }
  return kernel;
}

/**
 * Gives a designed impulse at more points.
 * @param taps the design, POINTS values a sample.
 * @param points a sample: a multiple of 4.
 * @param length samples, within which the design and its averages have passed.
 * @returns `length` x `points` values whose sum is 1.
 */
export function spreadTaps(taps: StaticArray<f64>, points: i32, length: i32): StaticArray<f64> {
  const gap = (points / POINTS) | 0;
  const spread = new StaticArray<f64>(length * points);
  let sum: f64 = 0;
  for (let n: i32 = 0; n < taps.length; n++) sum += taps[n];
  for (let n: i32 = 0; n < taps.length; n++) spread[n * gap] = taps[n] / sum;
  for (let pass: i32 = 0; pass < AVERAGES; pass++) average(spread, gap);
  return spread;
}

/** Replaces each value with the mean of it and those before, `count` in all. */
export function average(values: StaticArray<f64>, count: i32): void {
  const before = new StaticArray<f64>(count);
  let sum: f64 = 0;
  for (let i: i32 = 0; i < values.length; i++) {
    const value = values[i];
    const place = i % count;
    sum += value - before[place];
    before[place] = value;
    values[i] = sum / f64(count);
  }
}
