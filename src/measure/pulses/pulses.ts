/**
 * A recorded gate or clock as volts: levels, widths, edges, and how evenly it comes: the figures of a meter and a
 * scope, if the interface that recorded it passes direct current.
 *
 * An interface that does not, passes edges alone: between them the volts go back to their mean, by exp(-t / tau),
 * and the recording does not show the levels. So levels are then not given; swing and times are. A capacitor shows
 * in a droop while the pulse is high and, after it, in a low that begins too deep by as much; or in a mean of 0 V
 * where pulse and pause are of different length.
 */

import { median } from '../median.ts';
import type { SampleBlock } from '../samples.ts';
import { type Capacitor, CapacitorMeter, JumpMeter, withoutCapacitor } from './capacitor.ts';
import { type ClockMeasures, clockMeasures } from './clock.ts';
import { EdgeMeter, type MeasuredPulse } from './edges.ts';
import { StateMeter, type States } from './levels.ts';
import { SettlingMeter } from './settling.ts';

export interface PulseSource {
  /** Hz. */
  readonly sampleRate: number;
  /** V at a sample of 1.0. */
  readonly fullScale: number;
  /** Counted from 0. */
  readonly channel: number;
  /** The recording from its start, each time it is asked for. */
  readonly blocks: () => Iterable<SampleBlock>;
}

/** Volts in V, times in s. */
export interface PulseMeasures {
  readonly seconds: number;
  /** From the low to the high level; within a tenth of it where a capacitor is in the way. */
  readonly swing: number;
  /** Whether the interface passes direct current: unknown where a recording is too short or too noisy to tell. */
  readonly coupling: 'direct' | 'capacitor' | 'unknown';
  /** Undefined unless it passes direct current. */
  readonly levels: { readonly low: number; readonly high: number } | undefined;
  /** Standard deviation about the levels: noise, and any movement of the levels. */
  readonly noise: number;
  /** Samples at full scale: the volts may be higher than they show. */
  readonly clipped: number;
  /**
   * Hz, the corner of the capacitor in the way; undefined where none can be seen, 0 where it is too low to measure.
   */
  readonly cornerHz: number | undefined;
  /**
   * When pulses rise. A recording that begins within a pulse, as long as the others from there on, begins with its
   * rise: half a sample before the first, where any rise between two samples is put.
   */
  readonly rises: readonly number[];
  /** When they fall, that too in which the recording begins. */
  readonly falls: readonly number[];
  /** Whether it begins within a pulse of which the start is not recorded, and ends within one. */
  readonly isCut: { readonly start: boolean; readonly end: boolean };
  /** Of whole pulses; undefined where a capacitor has hidden their ends, or there are none. */
  readonly width: Spread | undefined;
  /** From 10 to 90 %; undefined where it is faster than the recording shows. */
  readonly riseTime: number | undefined;
  readonly fallTime: number | undefined;
  /** Intervals between pulses, if there are two at least. */
  readonly interval: Spread | undefined;
  /** Undefined for fewer than four pulses, and where they come as a rhythm. */
  readonly clock: ClockMeasures | undefined;
}

export interface Spread {
  readonly median: number;
  readonly least: number;
  readonly most: number;
}

/** Why there is nothing to measure. */
export type NoPulses =
  | 'empty' // no samples
  | 'no-levels' // silence, noise, or a wave that has no steady levels
  | 'no-pulses' // it never rises and falls
  | 'a-wave'; // a tone or music: it has no steady levels

/** Of the swing: a smaller droop than this while the pulse is high does not change a level. */
const LEAST_DROOP = 0.001;
/** ... and it counts where it is so many standard errors of the median. */
const SURE = 4;
/** The droop counts where the low before and after the pulse differ by as much, within this factor. */
const ALIKE = 2.5;
/** Behind a capacitor the mean is within this share of the swing from 0. */
const NO_MEAN = 0.002;
/** Time constants in which a mean settles, to less than that. */
const SETTLES = 4;
/** Beyond this droop the end of a pulse is seen in the wrong place. */
const MOST_DROOP = 0.35;
/** Times under so many samples are due to the recording's own filter. */
const FASTEST = 1.6;
/** Of the swing: a high that is less over 0 V says little by its droop. */
const HIGH_ENOUGH = 0.2;
/** Share of all samples that must rest at one of the two levels; otherwise it is a wave. */
const RESTING = 0.5;
const NEAR_LEVEL = 0.1;
/**
 * A gate spends at most this share of a period on its way from one level to the other and back: a sine spends half.
 */
const MOVING = 0.4;
/** Samples: a rise between what is before a recording, and its first sample. */
const AT_START = -0.5;

/** Windows in which a clock settles: so many periods, the longest first, or s where these are not known. */
const PERIODS = [6, 3];
const WINDOW = 0.02;
const LEAST_WINDOW = 24;
/** Hz: under this the levels of a clock show between its edges how it settles. */
const FAST = 100;

/**
 * Measures a recording's channel in four passes, in memory that grows only with its pulses; a gate that went
 * through a capacitor takes two more, with that undone, so that its times are those of the gate, and a clock that may
 * be settling three for each corner that is tried.
 */
export function pulseMeasures(source: PulseSource): PulseMeasures | NoPulses {
  const { sampleRate, channel, blocks } = source;
  const jumps = new JumpMeter(sampleRate);
  for (const block of blocks()) jumps.add(channelOf(block, channel), block.frames);
  const stretches = new CapacitorMeter(sampleRate, jumps.greatest);
  for (const block of blocks()) stretches.add(channelOf(block, channel), block.frames);
  const direct = measuredAsIs(source, stretches);
  if (direct === 'empty') return direct;
  const capacitor = stretches.finish();
  const found = capacitor === undefined ? direct : measuredUndone(source, direct, capacitor);
  const isSlow =
    typeof found !== 'string' && (found.interval === undefined || found.interval.median > 1 / FAST);
  return isSlow ? found : settled(source, direct, found);
}

/** The same with a capacitor undone that shows while a clock settles, if more pulses are found then. */
function settled(
  source: PulseSource,
  direct: PulseMeasures | NoPulses,
  found: PulseMeasures | NoPulses,
): PulseMeasures | NoPulses {
  const { sampleRate, channel, blocks } = source;
  let best = found;
  for (const periods of PERIODS) {
    const period = typeof best === 'string' ? undefined : best.interval?.median;
    const window = period === undefined ? WINDOW : periods * period;
    const length = Math.max(LEAST_WINDOW, Math.round(window * sampleRate));
    const meter = new SettlingMeter(sampleRate, length);
    for (const block of blocks()) meter.add(channelOf(block, channel), block.frames);
    const capacitor = meter.finish();
    if (capacitor === undefined) continue;
    const one = measuredUndone(source, direct, capacitor);
    if (countOf(one) > countOf(best)) best = one;
  }
  return best;
}

function countOf(found: PulseMeasures | NoPulses): number {
  return typeof found === 'string' ? 0 : found.rises.length;
}

/** The same with a capacitor undone; as it is, where there is nothing to be measured then. */
function measuredUndone(
  source: PulseSource,
  direct: PulseMeasures | NoPulses,
  capacitor: Capacitor,
): PulseMeasures | NoPulses {
  const { sampleRate, channel, blocks } = source;
  const before = measuredAsIs({
    ...source,
    channel: 0,
    blocks: () => withoutCapacitor(blocks(), channel, capacitor, sampleRate),
  });
  if (typeof before === 'string') return direct;
  const clipped = typeof direct === 'string' ? before.clipped : direct.clipped;
  const cornerHz = capacitor.rate / (2 * Math.PI);
  return { ...before, clipped, coupling: 'capacitor', levels: undefined, cornerHz };
}

/** @param stretches those between its edges; undefined where a capacitor has been undone. */
function measuredAsIs(source: PulseSource, stretches?: CapacitorMeter): PulseMeasures | NoPulses {
  const { sampleRate, fullScale, channel, blocks } = source;
  const states = new StateMeter();
  let frames = 0;
  for (const block of blocks()) {
    states.add(channelOf(block, channel), block.frames);
    frames += block.frames;
  }
  if (frames === 0) return 'empty';
  const found = states.finish();
  if (found === undefined) return 'no-levels';
  const edges = new EdgeMeter(found);
  let resting = 0;
  for (const block of blocks()) {
    const samples = channelOf(block, channel);
    edges.add(samples, block.frames);
    resting += restingIn(samples, block.frames, found);
  }
  const pulses = edges.finish();
  if (pulses.length === 0) return 'no-pulses';
  const droop = medianOf(pulses, ({ droop }) => droop);
  if (resting < RESTING * frames && Math.abs(droop) < MOST_DROOP) return 'a-wave';
  const whole = pulses.filter(({ fall }) => fall !== undefined);
  const widths = whole.map(({ rise, fall }) => (fall?.time ?? 0) - rise.time);
  const width = median(widths);
  const seen = pulses.map(({ rise }) => rise.time / sampleRate);
  const isFromStart = edges.begunFall !== undefined && isOneOf(widths, edges.begunFall - AT_START);
  const rises = isFromStart ? [AT_START / sampleRate, ...seen] : seen;
  const { begunFall } = edges;
  const falls = [
    ...(begunFall === undefined ? [] : [begunFall / sampleRate]),
    ...whole.map(({ fall }) => (fall?.time ?? 0) / sampleRate),
  ];
  const intervals = rises.slice(1).map((time, n) => time - (rises[n] as number));
  const [riseTimes, fallTimes] = [
    whole.map(({ rise }) => rise.duration),
    whole.map(({ fall }) => fall?.duration ?? 0),
  ];
  const moving = (median(riseTimes) + median(fallTimes)) / sampleRate;
  if (intervals.length > 0 && moving > MOVING * median(intervals)) return 'a-wave';
  const fastest = stretches?.fastest() ?? Number.POSITIVE_INFINITY;
  const couldSettle = (fastest * frames) / sampleRate > SETTLES;
  const cornerHz = cornerOf(found, whole, width / sampleRate, couldSettle);
  const step = cornerHz === undefined ? 1 : medianOf(whole, (pulse) => pulse.step);
  const hidesEnds = cornerHz !== undefined && droop > MOST_DROOP;
  const { low, high, spread, clipped } = found;
  const swing = high - low;
  const byDroop = fastestBy(found, whole, width) * sampleRate;
  const mean = meanOf(found, pulses);
  const mayHideOne = stretches?.mayHideOne(low / swing, mean / swing, byDroop) === true;
  const coupling = cornerHz !== undefined ? 'capacitor' : mayHideOne ? 'unknown' : 'direct';
  return {
    seconds: frames / sampleRate,
    swing: step * swing * fullScale,
    coupling,
    levels: coupling === 'direct' ? { low: low * fullScale, high: high * fullScale } : undefined,
    noise: spread * fullScale,
    clipped,
    cornerHz,
    rises,
    falls,
    isCut: {
      start: edges.begunFall !== undefined && !isFromStart,
      end: pulses.at(-1)?.fall === undefined,
    },
    width: hidesEnds ? undefined : spreadOf(widths, sampleRate),
    riseTime: duration(riseTimes, sampleRate),
    fallTime: hidesEnds ? undefined : duration(fallTimes, sampleRate),
    interval: spreadOf(intervals, 1),
    clock: clockMeasures(rises),
  };
}

/** Whether a pulse is as long as the others, to a sample: the usual ones, the shortest, or the longest. */
function isOneOf(widths: readonly number[], length: number): boolean {
  const { least, most } = spreadOf(widths, 1) ?? { least: Number.NaN, most: Number.NaN };
  return [median(widths), least, most].some((width) => Math.abs(length - width) <= 1);
}

function channelOf({ channels }: SampleBlock, channel: number): Float32Array | Float64Array {
  const samples = channels[channel];
  if (samples === undefined) throw new RangeError(`channel ${channel + 1} is missing`);
  return samples;
}

function restingIn(
  samples: Float32Array | Float64Array,
  count: number,
  { low, high }: States,
): number {
  const near = NEAR_LEVEL * (high - low);
  let resting = 0;
  for (let n = 0; n < count; n++) {
    const value = samples[n] as number;
    if (Math.abs(value - low) <= near || Math.abs(value - high) <= near) resting += 1;
  }
  return resting;
}

/** Per sample: a faster capacitor in the way would make pulses of such a width droop by more. */
function fastestBy(
  { low, high, spread }: States,
  whole: readonly MeasuredPulse[],
  width: number,
): number {
  const swing = high - low;
  // The slope of a line through n points that scatter, from end to end: sqrt(12 / n) of that.
  const chance = SURE * (spread / swing) * Math.sqrt(12 / (width * whole.length));
  const droop = Math.abs(medianOf(whole, (pulse) => pulse.droop)) + chance;
  return high > HIGH_ENOUGH * swing ? (droop * swing) / high / width : Number.POSITIVE_INFINITY;
}

/** The mean over whole periods: the start and the end of a recording do not count. */
function meanOf({ low, high, mean }: States, pulses: readonly MeasuredPulse[]): number {
  const [first, last] = [pulses[0], pulses.at(-1)];
  if (first === undefined || last === undefined || first === last) return mean;
  const on = pulses
    .slice(0, -1)
    .reduce((sum, { rise, fall }) => sum + (fall?.time ?? 0) - rise.time, 0);
  return low + ((high - low) * on) / (last.rise.time - first.rise.time);
}

function medianOf(pulses: readonly MeasuredPulse[], of: (pulse: MeasuredPulse) => number): number {
  return median(pulses.map(of));
}

/** The corner of a capacitor in the way, Hz; undefined where none can be seen. */
function cornerOf(
  { low, high, mean }: States,
  pulses: readonly MeasuredPulse[],
  width: number,
  couldSettle: boolean,
): number | undefined {
  const droop = medianOf(pulses, (pulse) => pulse.droop);
  const undershoot = medianOf(pulses, (pulse) => pulse.undershoot);
  const areAlike = droop < ALIKE * undershoot && undershoot < ALIKE * droop;
  const isSure = [droop, undershoot].every((value, index) => {
    const off = pulses.map((one) => Math.abs((index === 0 ? one.droop : one.undershoot) - value));
    // 1.48 makes a standard deviation of the median deviation, 1.25 the error of a median out of that of a mean.
    return value > (SURE * 1.48 * 1.25 * median(off)) / Math.sqrt(pulses.length);
  });
  const swing = high - low;
  // It falls towards 0 V, from A to A exp(-x), x = width / tau, about a median of A exp(-x / 2): by 2 sinh(x / 2)
  // times that median.
  if (droop > LEAST_DROOP && areAlike && isSure)
    return (2 * Math.asinh((droop * swing) / high / 2)) / (2 * Math.PI * width);
  // Used where the mean is 0 and neither level is: the volts have settled there.
  const isCentred = Math.abs(mean) < NO_MEAN * swing && low < -0.02 * swing;
  const isUneven = Math.abs(high + low) > 0.05 * swing;
  return couldSettle && isCentred && isUneven ? 0 : undefined;
}

function spreadOf(values: readonly number[], rate: number): Spread | undefined {
  if (values.length === 0) return undefined;
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const value of values) {
    least = Math.min(least, value);
    most = Math.max(most, value);
  }
  return { median: median(values) / rate, least: least / rate, most: most / rate };
}

/** Undefined where it is as fast as the recording can show. */
function duration(samples: readonly number[], sampleRate: number): number | undefined {
  const typical = median(samples);
  return typical > FASTEST ? typical / sampleRate : undefined;
}
