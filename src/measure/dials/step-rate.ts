/**
 * How often recorded volts step to another value and hold it, as those of a random source with a clock of its
 * own do: a step is where the mean of some samples is further from that of those before than noise explains.
 */

import { median } from '../median.ts';
import { clockMeasures } from '../pulses/clock.ts';
import { rateBy } from './gate-times.ts';
import { type DialReading, type MonoClip, type NoReading, uselessClip } from './reading.ts';

const LEAST_SECONDS = 0.05;
/** Samples in each of the two means. */
const SPAN = 6;
/** Standard deviations of the noise that a step must exceed. */
const SURE = 8;
/** Share of the greatest step: a smaller one is not a step. */
const LEAST_STEP = 0.01;
/** The share of steps that are too small to be seen. */
const MOST_MISSING = 0.2;
/** A step has this many times the slope of volts that move all the time. */
const SUDDEN = 20;

/** @returns Hz. */
export function stepRate(clip: MonoClip): DialReading | NoReading {
  const useless = uselessClip(clip, LEAST_SECONDS);
  if (useless !== undefined) return useless;
  const { sampleRate, samples } = clip;
  const jumps = jumpsOf(samples);
  const usual = 1.48 * median(jumps);
  const greatest = jumps.reduce((most, one) => Math.max(most, one), 0);
  if (!(greatest > SUDDEN * usual)) return 'no-steps';
  const least = Math.max(SURE * usual, LEAST_STEP * greatest);
  const times: number[] = [];
  for (let n = 0; n < jumps.length; n++) {
    if (!((jumps[n] as number) > least)) continue;
    let at = n;
    while (n < jumps.length && (jumps[n] as number) > least) {
      if ((jumps[n] as number) > (jumps[at] as number)) at = n;
      n += 1;
    }
    times.push((at + SPAN) / sampleRate);
  }
  const clock = clockMeasures(times);
  if (clock === undefined) return times.length < 4 ? 'too-short' : 'uneven';
  if (clock.doubles.length > 0 || clock.missing.length > MOST_MISSING * times.length)
    return 'uneven';
  return rateBy(clock, times.length);
}

/** How far the mean of some samples is from that of those before, each a sample on. */
function jumpsOf(samples: Float64Array): Float64Array {
  const jumps = new Float64Array(Math.max(0, samples.length - 2 * SPAN));
  let before = 0;
  let after = 0;
  for (let n = 0; n < samples.length; n++) {
    after += (samples[n] as number) - (samples[n - SPAN] ?? 0);
    before += (samples[n - SPAN] ?? 0) - (samples[n - 2 * SPAN] ?? 0);
    if (n >= 2 * SPAN) jumps[n - 2 * SPAN] = Math.abs(after - before) / SPAN;
  }
  return jumps;
}
