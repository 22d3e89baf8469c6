/**
 * How loud, or how high, a recording is from moment to moment: of volts the mean under a short window, of a
 * sound the mean square. A model of an envelope is put through the same window before the two are compared,
 * so that the window's length does not change the result.
 */

import { median } from '../median.ts';
import type { MonoClip } from './reading.ts';

export type HeardAs = 'volts' | 'sound';

export interface LevelCourse {
  readonly heard: HeardAs;
  /** Mean, or mean square, at each point. */
  readonly values: Float64Array;
  /** s, of the first point and from one to the next. */
  readonly start: number;
  readonly step: number;
  /** s. */
  readonly window: number;
}

/** Hops in a window. */
export const HOPS = 16;
/** The Hann window, which suppresses every wave with a whole number, from 2, of cycles in it. */
const WEIGHTS = Float64Array.from(
  { length: HOPS },
  (_, n) => (2 * Math.sin((Math.PI * (n + 0.5)) / HOPS) ** 2) / HOPS,
);

/**
 * Follows the samples `from` to `to`.
 * @param window s; made longer, to a whole number of samples a hop: a shorter one would show the wave itself.
 */
export function levelCourse(
  { sampleRate, samples }: MonoClip,
  heard: HeardAs,
  { from = 0, to = samples.length, window }: { from?: number; to?: number; window: number },
): LevelCourse {
  const hop = Math.max(1, Math.ceil((window * sampleRate) / HOPS - 1e-6));
  const first = Math.max(0, from);
  const hops = Math.max(0, Math.floor((Math.min(samples.length, to) - first) / hop));
  const means = new Float64Array(hops);
  for (let h = 0; h < hops; h++) {
    let sum = 0;
    for (let n = first + h * hop; n < first + (h + 1) * hop; n++) {
      const value = samples[n] as number;
      sum += heard === 'volts' ? value : value * value;
    }
    means[h] = sum / hop;
  }
  return {
    heard,
    values: smoothed(means),
    start: (first + (HOPS * hop) / 2) / sampleRate,
    step: hop / sampleRate,
    window: (HOPS * hop) / sampleRate,
  };
}

function smoothed(means: Float64Array): Float64Array {
  const values = new Float64Array(Math.max(0, means.length - HOPS + 1));
  for (let h = 0; h < values.length; h++) {
    let sum = 0;
    for (let j = 0; j < HOPS; j++) sum += (WEIGHTS[j] as number) * (means[h + j] as number);
    values[h] = sum;
  }
  return values;
}

/**
 * The value of a course for an envelope at a time: the mean of its heights under the window, of a sound of
 * their squares.
 * @param heightAt the envelope, 1 being full scale, at a time in s.
 */
export function shownAt(
  { heard, step }: LevelCourse,
  time: number,
  heightAt: (time: number) => number,
): number {
  let sum = 0;
  for (let j = 0; j < HOPS; j++) {
    const height = heightAt(time + (j - (HOPS - 1) / 2) * step);
    sum += (WEIGHTS[j] as number) * (heard === 'volts' ? height : height * height);
  }
  return sum;
}

/** The level at rest: the volts at rest or the power of a floor, and how it scatters. */
export interface RestLevel {
  readonly level: number;
  readonly spread: number;
}

/** A course that does not begin with at least so many points at rest has its quietest tenth as its rest. */
const QUIET = 0.1;
const ENOUGH = 24;

/** @param lead how many points are there before anything rises. */
export function restOf({ values, heard }: LevelCourse, lead: number): RestLevel {
  if (lead >= ENOUGH) {
    const first = values.subarray(0, lead);
    const level = median(first);
    const off = 1.48 * median(first.map((value) => Math.abs(value - level)));
    return { level, spread: heard === 'sound' ? level : off };
  }
  const sorted = Float64Array.from(values).sort();
  const quiet = sorted.subarray(0, Math.max(1, Math.floor(QUIET * sorted.length)));
  const level = median(quiet);
  if (heard === 'sound') return { level, spread: level };
  // Of points that scatter both ways the lowest tenth is only one side: those near it are taken as well.
  const near = sorted.filter(
    (value) => value < level + 4 * (level - (sorted[0] as number)) + 1e-12,
  );
  const middle = median(near);
  return { level: middle, spread: 1.48 * median(near.map((value) => Math.abs(value - middle))) };
}

/** Height over rest at each point, 1 being full scale. */
export function heightsOf({ values, heard }: LevelCourse, rest: RestLevel): Float64Array {
  return values.map((value) =>
    heard === 'volts' ? value - rest.level : Math.sqrt(Math.max(0, value - rest.level)),
  );
}
