/**
 * How often a recorded gate comes, how long it lasts and for which part of its period it is high. A capacitor in
 * the way hides none of that: measure/pulses undoes it.
 */

import { type PulseMeasures, pulseMeasures } from '../pulses/pulses.ts';
import { CLOCK_OFF, type Clip, type DialReading, type NoReading, uselessClip } from './reading.ts';

const LEAST_SECONDS = 0.01;
/** Pulses that make a rate. */
const FEWEST = 4;
/** Pulses that differ by more, of their length, are not of one length. */
const ONE_LENGTH = 0.1;
/** Of a sample: where an edge lies between two of them, evenly at random. */
const STEP = 1 / Math.sqrt(12);

/** @returns Hz, s, or a share of the period. */
export function gateTime(clip: Clip, wanted: 'rate' | 'length' | 'duty'): DialReading | NoReading {
  const useless = uselessClip(clip, LEAST_SECONDS);
  if (useless !== undefined) return useless;
  const { sampleRate, samples } = clip;
  const found = pulseMeasures({
    sampleRate,
    fullScale: 1,
    channel: 0,
    blocks: () => [{ channels: [samples], frames: samples.length }],
  });
  if (typeof found === 'string') return 'no-pulses';
  const length = lengthOf(found, sampleRate);
  if (wanted === 'length') return length;
  const rate = rateOf(found);
  if (wanted === 'rate' || typeof rate === 'string') return rate;
  if (typeof length === 'string') return length;
  const value = length.value * rate.value;
  const error = value * Math.hypot(length.error / length.value, rate.error / rate.value);
  return { value, error };
}

function lengthOf({ width }: PulseMeasures, sampleRate: number): DialReading | NoReading {
  if (width === undefined) return 'too-short';
  const { median, least, most } = width;
  if (most - least > ONE_LENGTH * median + 2 / sampleRate) return 'uneven';
  const error = Math.hypot((most - least) / 4, STEP / sampleRate, CLOCK_OFF * median);
  return { value: median, error };
}

function rateOf({ rises, clock }: PulseMeasures): DialReading | NoReading {
  if (rises.length < FEWEST) return 'too-short';
  if (clock === undefined || clock.missing.length + clock.doubles.length > 0) return 'uneven';
  const { period, jitterRms } = clock;
  // The slope of a line through n edges that scatter.
  const error = (Math.sqrt(12) * jitterRms) / rises.length ** 1.5;
  return { value: 1 / period, error: Math.hypot(error / period, CLOCK_OFF) / period };
}
