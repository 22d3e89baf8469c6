/**
 * How often a recorded gate comes, how long it lasts and for which part of its period it is high; how far the
 * pulses of a burst lie apart, and how late a pulse is after its trigger. A capacitor in
 * the way hides none of that: measure/pulses undoes it.
 */

import { median } from '../median.ts';
import type { ClockMeasures } from '../pulses/clock.ts';
import { type PulseMeasures, pulseMeasures } from '../pulses/pulses.ts';
import {
  CLOCK_OFF,
  type DialReading,
  type MonoClip,
  type NoReading,
  uselessClip,
} from './reading.ts';

const LEAST_SECONDS = 0.01;
/** The fewest pulses that make a rate. */
const FEWEST = 4;
/** Pulses whose lengths differ by more than this share are not of one length. */
const ONE_LENGTH = 0.1;
/** Standard error of an edge, in samples: its place between two samples is evenly random. */
const STEP = 1 / Math.sqrt(12);

/** @returns Hz, s, or a share of the period. */
export function gateTime(
  clip: MonoClip,
  wanted: 'rate' | 'length' | 'duty',
): DialReading | NoReading {
  const { sampleRate } = clip;
  const found = pulsesOf(clip);
  if (typeof found === 'string') return found;
  const length = lengthOf(found, sampleRate);
  if (wanted === 'length') return length;
  const rate = rateOf(found);
  if (wanted === 'rate' || typeof rate === 'string') return rate;
  if (typeof length === 'string') return length;
  const value = length.value * rate.value;
  const error = value * Math.hypot(length.error / length.value, rate.error / rate.value);
  return { value, error };
}

/** Gaps within a burst are alike within this factor; a longer one is a rest. */
const REST = 2.5;

/** @returns s, from the first pulse of a burst to its second. */
export function burstSpacing(clip: MonoClip): DialReading | NoReading {
  const found = pulsesOf(clip);
  if (typeof found === 'string') return found;
  const { rises } = found;
  const gaps = rises.slice(1).map((time, k) => time - (rises[k] as number));
  const firsts = gaps.filter((gap, k) => k > 0 && (gaps[k - 1] as number) > REST * gap);
  // The recording may begin within a burst, where its first gap is a later one.
  const [gap = 0] = gaps;
  const isWhole = !found.isCut.start && (rises[0] as number) > REST * gap;
  return alike(isWhole || firsts.length === 0 ? [gap, ...firsts] : firsts, clip.sampleRate);
}

/**
 * @param trigger what starts the pulses, recorded at the same time.
 * @returns s, from a trigger to its pulse.
 */
export function pulseLate(clip: MonoClip, trigger: MonoClip): DialReading | NoReading {
  const [found, started] = [pulsesOf(clip), pulsesOf(trigger)];
  if (typeof found === 'string') return found;
  if (typeof started === 'string') return started;
  // The last trigger's pulse may come after the end.
  const both = Math.min(found.rises.length, started.rises.length);
  const lates = found.rises.slice(0, both).map((time, k) => time - (started.rises[k] as number));
  return lates.some((late) => late < 0) ? 'no-rest' : alike(lates, clip.sampleRate);
}

/** The mean of times that should be equal, each between two edges. */
function alike(times: readonly number[], sampleRate: number): DialReading | NoReading {
  if (times.length === 0) return 'too-short';
  const sorted = times.toSorted((a, b) => a - b);
  const [least = 0, most = 0] = [sorted[0], sorted.at(-1)];
  const value = median(times);
  if (most - least > ONE_LENGTH * value + 2 / sampleRate) return 'uneven';
  const step = (Math.SQRT2 * STEP) / sampleRate;
  return { value, error: Math.hypot((most - least) / 4, step, CLOCK_OFF * value) };
}

function pulsesOf(clip: MonoClip): PulseMeasures | NoReading {
  const useless = uselessClip(clip, LEAST_SECONDS);
  if (useless !== undefined) return useless;
  const { sampleRate, samples } = clip;
  const found = pulseMeasures({
    sampleRate,
    fullScale: 1,
    channel: 0,
    blocks: () => [{ channels: [samples], frames: samples.length }],
  });
  return typeof found === 'string' ? 'no-pulses' : found;
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
  return rateBy(clock, rises.length);
}

/** Hz. @param count of edges: the error is that of the slope of a line through so many scattered edges. */
export function rateBy({ period, jitterRms }: ClockMeasures, count: number): DialReading {
  const error = (Math.sqrt(12) * jitterRms) / count ** 1.5;
  return { value: 1 / period, error: Math.hypot(error / period, CLOCK_OFF) / period };
}
