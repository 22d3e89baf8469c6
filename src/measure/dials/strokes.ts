/** The strokes of an envelope in a recording: where each rises from rest, where it is highest, where it ends. */

import { PeriodFinder } from '../pitch/period.ts';
import {
  type HeardAs,
  heightsOf,
  type LevelCourse,
  levelCourse,
  type RestLevel,
  restOf,
} from './course.ts';
import { type MonoClip, type NoReading, uselessClip } from './reading.ts';

/** Times in s. */
export interface DialStroke {
  /** Where the one before it has ended; the start of the recording for the first. */
  readonly begin: number;
  /** Where it rises through a tenth, a half and nine tenths of its peak. */
  readonly tenth: number;
  readonly half: number;
  readonly most: number;
  /** Where it is no longer visible, or the next begins. */
  readonly end: number;
  /** Its peak, 1 being full scale. */
  readonly peak: number;
}

export interface DialStrokes {
  readonly strokes: readonly DialStroke[];
  readonly course: LevelCourse;
  readonly rest: RestLevel;
  /** s: the shortest window that leaves out the sound's own wave. */
  readonly shortest: number;
  /** Period of the wave, s: a stage that is over within about one cycle cannot be seen. */
  readonly period: number;
  /** Whether the sound is noise, whose power scatters. */
  readonly isNoise: boolean;
}

const LEAST_SECONDS = 0.05;
/** s, at the start of a recording. */
const LEAD = 0.02;
/** Window of a first look, s. */
const WINDOW = 0.001;
const NOISE_WINDOW = 0.004;
/** A stroke begins by rising through this share of the highest level. */
const RISES = 0.5;
const FROM = 0.15;
/** A stroke ends where it falls under this share of its peak, or this many spreads of the rest. */
const ENDS = 0.01;
const SPREADS = 4;
/** A stroke that is higher than this share of its peak at the end is cut off. */
const CUT = 0.05;
/** A wave that repeats as well as this has cycles, and a window that must hold two of them. */
const CLEAR = 0.75;
/**
 * A sound swings about 0: its mean is under the first share of its rms. Volts of one sign have a mean over the
 * second.
 */
const SWINGS = 0.25;

/** Finds the strokes. */
export function strokesOf(clip: MonoClip, heard: HeardAs): DialStrokes | NoReading {
  const useless = uselessClip(clip, LEAST_SECONDS);
  if (useless !== undefined) return useless;
  const wrong = wrongSort(clip, heard);
  if (wrong !== undefined) return wrong;
  const { shortest, period, isNoise } = heard === 'volts' ? VOLTS : soundOf(clip);
  const window = Math.max(isNoise ? NOISE_WINDOW : WINDOW, shortest);
  const course = levelCourse(clip, heard, { window });
  const rest = restOf(course, leadOf(course));
  const heights = heightsOf(course, rest);
  const highest = heights.reduce((a, b) => Math.max(a, b), 0);
  const quiet = heard === 'volts' ? rest.spread : Math.sqrt(rest.level);
  if (!(highest > 8 * quiet) || !(highest > 0)) return 'in-noise';
  const starts: number[] = [];
  // A stroke within which the recording begins is not measured.
  const isAtRest = (heights[0] ?? 0) < FROM * highest;
  let isReady = isAtRest;
  for (let n = 0; n < heights.length; n++) {
    const height = heights[n] as number;
    if (isReady && height >= RISES * highest) {
      starts.push(n);
      isReady = false;
    } else if (height < FROM * highest) isReady = true;
  }
  if (starts.length === 0) return isAtRest ? 'no-strokes' : 'no-rest';
  const strokes: DialStroke[] = [];
  starts.forEach((at, index) => {
    const next = starts[index + 1] ?? heights.length;
    const begin = strokes.at(-1)?.end ?? 0;
    strokes.push({ begin, ...strokeAt(course, heights, { at, next, quiet }) });
  });
  // A stroke that the end of the recording cuts off is worth less than those before it.
  const isCut = (heights.at(-1) ?? 0) > CUT * (strokes.at(-1)?.peak ?? 0);
  if (isCut && strokes.length > 1) strokes.pop();
  return { strokes, course, rest, shortest, period, isNoise };
}

/** How many points come before anything rises: there it is at rest. */
function leadOf({ values, heard, window, step }: LevelCourse): number {
  const least = values.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
  const most = values.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  const level = least + (heard === 'volts' ? FROM : FROM * FROM) * (most - least);
  const rise = values.findIndex((value) => value > level);
  // A slow rise has begun long before that.
  return Math.max(0, Math.floor(rise / 3 - (2 * window) / step));
}

function strokeAt(
  { start, step }: LevelCourse,
  heights: Float64Array,
  { at, next, quiet }: { at: number; next: number; quiet: number },
): Omit<DialStroke, 'begin'> {
  // It falls before the next one rises: the rise after its lowest point belongs to the next.
  let last = next - 1;
  if (next < heights.length)
    for (let n = next - 1; n > at; n--)
      if ((heights[n] as number) < (heights[last] as number)) last = n;
  let peak = 0;
  for (let n = at; n <= last; n++) peak = Math.max(peak, heights[n] as number);
  const back = (share: number): number => {
    let n = at;
    if ((heights[n] as number) >= share * peak)
      while (n > 0 && (heights[n - 1] as number) >= share * peak) n -= 1;
    else while (n < last && (heights[n] as number) < share * peak) n += 1;
    const [below, above] = [heights[n - 1] ?? 0, heights[n] as number];
    const part = above > below ? (share * peak - below) / (above - below) : 1;
    return start + (n - 1 + Math.min(1, Math.max(0, part))) * step;
  };
  const least = Math.max(ENDS * peak, SPREADS * quiet);
  let end = last;
  while (end > at && (heights[end] as number) < least) end -= 1;
  return { tenth: back(0.1), half: back(0.5), most: back(0.9), end: start + end * step, peak };
}

function wrongSort({ sampleRate, samples }: MonoClip, heard: HeardAs): NoReading | undefined {
  let sum = 0;
  let squares = 0;
  let over = 0;
  let under = 0;
  for (let n = 0; n < samples.length; n++) {
    const value = samples[n] as number;
    sum += value;
    squares += value * value;
    if (value > over) over = value;
    if (value < under) under = value;
  }
  const share = Math.abs(sum) / Math.sqrt(squares * samples.length);
  if (heard === 'sound') return over > 8 * -under ? 'not-sound' : undefined;
  // An interface's offset, which it has at rest before the first stroke too.
  const lead = samples.subarray(0, Math.round(LEAD * sampleRate));
  const offset = Math.min(0, lead.reduce((sum, value) => sum + value, 0) / lead.length);
  if (share > SWINGS) return under - offset < -0.1 * (over - offset) ? 'capacitor' : undefined;
  // Short strokes among long rests have a small mean too, but all of them go one way.
  if (over > 8 * -under) return undefined;
  return under < -0.5 * over ? 'not-volts' : 'capacitor';
}

type StrokeSound = Pick<DialStrokes, 'shortest' | 'period' | 'isNoise'>;

const VOLTS: StrokeSound = { shortest: 0, period: 0, isNoise: false };

/** Where a wave is looked for: one of so many samples, and how many of these; the last is for short sounds. */
const STRETCHES = [
  [1, 1024],
  [4, 1024],
  [16, 1024],
  [1, 160],
] as const;

/**
 * Tells whether the loudest part of a sound is noise or a wave. A window has to hold two cycles of the squared
 * wave, which for a sine are half as long as its own.
 */
function soundOf({ sampleRate, samples }: MonoClip): StrokeSound {
  let loudest = 0;
  for (let n = 0; n < samples.length; n++)
    if (Math.abs(samples[n] as number) > Math.abs(samples[loudest] as number)) loudest = n;
  for (const [factor, most] of STRETCHES) {
    const count = Math.min(most, Math.floor(samples.length / factor));
    const lead = most < 1024 ? 0 : factor * (count >> 2);
    const from = Math.max(0, Math.min(loudest - lead, samples.length - factor * count));
    const low = Float64Array.from({ length: count }, (_, n) => {
      let sum = 0;
      for (let k = 0; k < factor; k++) sum += samples[from + n * factor + k] as number;
      return sum / factor;
    });
    // A constant part, such as a narrow pulse has, repeats at any shift.
    const mean = low.reduce((sum, value) => sum + value, 0) / Math.max(1, count);
    for (let n = 0; n < count; n++) low[n] = (low[n] as number) - mean;
    const found = new PeriodFinder(sampleRate / factor).find(low, 0, count);
    if (found === null || found.clarity <= CLEAR) continue;
    // From the loudest on, without the rise.
    const after = low.subarray(Math.ceil((loudest - from) / factor));
    const period = 1 / found.hz;
    return { shortest: isSine(after) ? period : 2 * period, period, isNoise: false };
  }
  return { shortest: 0.001, period: 0.003, isNoise: true };
}

/**
 * Each sample of a sine, swelling or dying away, follows from the two before it: gives the share of power that does
 * not.
 */
const SINE_LEFT = 5e-4;

function isSine(samples: Float64Array): boolean {
  // x[n] = a x[n-1] + b x[n-2], by the normal equations.
  let r00 = 0;
  let r01 = 0;
  let r02 = 0;
  let r11 = 0;
  let r12 = 0;
  let r22 = 0;
  for (let n = 2; n < samples.length; n++) {
    const [x, y, z] = [samples[n] as number, samples[n - 1] as number, samples[n - 2] as number];
    r00 += x * x;
    r01 += x * y;
    r02 += x * z;
    r11 += y * y;
    r12 += y * z;
    r22 += z * z;
  }
  const whole = r11 * r22 - r12 * r12;
  const a = (r01 * r22 - r02 * r12) / whole;
  const b = (r02 * r11 - r01 * r12) / whole;
  return r00 - a * r01 - b * r02 < SINE_LEFT * r00;
}

/**
 * Noise with its colour removed, as far as each sample predicts the next: coloured noise has its power in a few
 * slow waves, which cannot be told from an envelope. An envelope moves too slowly to be changed by it.
 */
export function whitened({ sampleRate, samples }: MonoClip): MonoClip {
  let squares = 0;
  let products = 0;
  for (let n = 1; n < samples.length; n++) {
    squares += (samples[n - 1] as number) ** 2;
    products += (samples[n] as number) * (samples[n - 1] as number);
  }
  const keep = squares > 0 ? products / squares : 0;
  return {
    sampleRate,
    samples: samples.map((value, n) => (n === 0 ? 0 : value - keep * (samples[n - 1] as number))),
  };
}
