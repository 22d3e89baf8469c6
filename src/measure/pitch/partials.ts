/**
 * The partials of one hit: the peaks of its spectrum, each with its own level and
 * decay.
 *
 * A partial is a peak of a spectrum (a Hann window from the onset on) that stands 12 dB over the median
 * of the bins within a third of an octave. Its level over time is that of the signal shifted down by its
 * frequency and averaged through a Hann window; a straight line in dB through the fall of that gives its
 * decay and its level at the onset. White noise of one window passes 12 dB over its median in one bin
 * of some 60 000, by its exponential distribution: 2^-16.
 */

import { largest } from '../../modules/dsp/extremes.ts';
import { reliabilityOf } from '../estimate.ts';
import type { HitSound } from '../likeness/band-frames.ts';
import { hann } from '../spectrum/spectrum.ts';
import { RealTransform } from '../spectrum/transform.ts';
import { lineThrough } from './line.ts';

export interface Partial {
  /** Hz. */
  readonly hz: number;
  /** Amplitude at the onset, 1 being full scale, by the line through its fall. */
  readonly amplitude: number;
  /** Time in which it falls by 60 dB, s, and how far that can be trusted, from 0 to 1. */
  readonly decay: number;
  readonly reliability: number;
}

export interface PartialOptions {
  /** The most partials that are needed: the loudest. */
  readonly most: number;
  /** Where they are looked for, Hz. */
  readonly lowHz?: number;
  readonly highHz?: number;
  /** From when on, after the onset, s. */
  readonly from?: number;
}

const LOWEST = 30;
const HIGHEST = 16_000;
/** The longest window of the spectrum, and of the level over time, s. */
const LONGEST = 0.3;
const LEVEL_WINDOW = 0.03;
/** ... and the fewest periods in it. */
const PERIODS = 4;
/** Step from one level to the next, as a share of that window. */
const HOP = 0.25;
const MOST_LEVELS = 800;
/** dB over the median of the bins around it. */
const OUT_DB = 12;
const AROUND = 2 ** (1 / 6);
/** The median of this many bins is enough. */
const MOST_AROUND = 80;
/** A partial so far under the loudest is left out, dB. */
const FAINT_DB = 40;
/** Partials closer than this ratio count as one. */
const APART = 1.04;
/** The fall is followed so far down, dB. */
const FALL_DB = 30;
const DECAYS = [0.005, 20] as const;

/** @returns the loudest first; none for a noise, silence, or a hit of under 20 ms. */
export function partialsOf(
  sound: HitSound,
  { most, lowHz = LOWEST, highHz = HIGHEST, from = 0 }: PartialOptions,
): readonly Partial[] {
  const { samples, sampleRate } = sound;
  const onset = sound.onset + Math.round(from * sampleRate);
  const length = Math.min(Math.round(LONGEST * sampleRate), sound.end - onset);
  if (length < 0.02 * sampleRate) return [];
  const size = 2 ** Math.ceil(Math.log2(2 * length));
  const frame = new Float64Array(size);
  for (let n = 0; n < length; n++)
    frame[n] = (samples[onset + n] as number) * Math.sin((Math.PI * (n + 0.5)) / length) ** 2;
  const transform = new RealTransform(size);
  transform.run(frame);
  const power = transform.re.map((re, k) => re * re + (transform.im[k] as number) ** 2);
  const binHz = sampleRate / size;
  const found: { hz: number; power: number }[] = [];
  const last = Math.min(power.length - 2, Math.floor(highHz / binHz));
  const faintest = largest(power.subarray(0, last + 1)) * 10 ** (-FAINT_DB / 10);
  for (let k = Math.max(1, Math.ceil(lowHz / binHz)); k <= last; k++) {
    const own = power[k] as number;
    if (!(own > (power[k - 1] as number) && own >= (power[k + 1] as number))) continue;
    if (!(own > faintest)) continue;
    if (own > 10 ** (OUT_DB / 10) * medianAround(power, k, size / length))
      found.push({ hz: binHz * placeOf(power, k), power: own });
  }
  const apart: { hz: number; power: number }[] = [];
  for (const one of found.toSorted((a, b) => b.power - a.power)) {
    if (apart.length >= 2 * most) break;
    const isNear = (other: { hz: number }) =>
      Math.abs(Math.log(other.hz / one.hz)) < Math.log(APART) ||
      Math.abs(other.hz - one.hz) < (3 * sampleRate) / length;
    if (!apart.some(isNear)) apart.push(one);
  }
  const before = { ...sound, onset };
  return apart
    .flatMap(({ hz }) => fallOf(before, hz) ?? [])
    .toSorted((a, b) => b.amplitude ** 2 * b.decay - a.amplitude ** 2 * a.decay)
    .slice(0, most);
}

/** The median power of the bins around one, except those that the window smears it into. */
function medianAround(power: Float64Array, k: number, padding: number): number {
  const smeared = Math.ceil(2.5 * padding);
  const reach = Math.max(k * (AROUND - 1), 4 * smeared);
  const [first, last] = [Math.max(1, k - reach), Math.min(power.length - 1, k + reach)];
  const around: number[] = [];
  const stride = Math.max(1, Math.floor((last - first) / MOST_AROUND));
  for (let j = Math.ceil(first); j <= last; j += stride)
    if (Math.abs(j - k) > smeared) around.push(power[j] as number);
  around.sort((a, b) => a - b);
  return around[around.length >> 1] ?? 0;
}

/** Where a peak is, in bins, by the parabola through the logarithms. */
function placeOf(power: Float64Array, k: number): number {
  const [before, at, after] = [k - 1, k, k + 1].map((j) =>
    Math.log(Math.max(Number.MIN_VALUE, power[j] as number)),
  ) as [number, number, number];
  const bend = before - 2 * at + after;
  return k + (bend < 0 ? Math.max(-0.5, Math.min(0.5, (before - after) / (2 * bend))) : 0);
}

/** The line through the level of one partial over time. */
function fallOf({ samples, sampleRate, onset, end }: HitSound, hz: number): Partial | undefined {
  const window = Math.max(LEVEL_WINDOW, PERIODS / hz);
  const size = Math.round(window * sampleRate);
  const weights = hann(size);
  const hop = Math.max(1, Math.round(HOP * window * sampleRate));
  const levels: number[] = [];
  for (
    let at = onset;
    at + size <= Math.min(samples.length, end) && levels.length < MOST_LEVELS;
    at += hop
  )
    levels.push(amplitudeAt(samples, at, weights, hz / sampleRate));
  const top = levels.reduce((best, level, k) => (level > (levels[best] ?? 0) ? k : best), 0);
  const loudest = levels[top] ?? 0;
  if (!(loudest > 0)) return undefined;
  const points: { time: number; db: number }[] = [];
  for (let k = top; k < levels.length; k++) {
    const db = 20 * Math.log10(Math.max(1e-12, levels[k] as number));
    if (db < 20 * Math.log10(loudest) - FALL_DB) break;
    points.push({ time: (k * hop) / sampleRate + window / 2, db });
  }
  const [least, most] = DECAYS;
  const slope =
    points.length > 2
      ? lineThrough(points)
      : { perSecond: -60 / least, atZero: 0, error: Number.POSITIVE_INFINITY };
  const decay = slope.perSecond < 0 ? Math.min(most, Math.max(least, -60 / slope.perSecond)) : most;
  const amplitude =
    points.length > 2 && slope.perSecond < 0
      ? Math.min(4 * loudest, 10 ** (slope.atZero / 20))
      : loudest;
  // Levels that share a window are nearly the same.
  const error = slope.error / Math.sqrt(HOP);
  const isKnown = decay > least && decay < most;
  return { hz, amplitude, decay, reliability: isKnown ? reliabilityOf(error) : 0 };
}

/** Amplitude of a sine at a frequency in cycles a sample, through a window. */
function amplitudeAt(
  samples: Float64Array,
  from: number,
  window: Float64Array,
  cycles: number,
): number {
  const [turnRe, turnIm] = [Math.cos(2 * Math.PI * cycles), Math.sin(2 * Math.PI * cycles)];
  let cos = 1;
  let sin = 0;
  let re = 0;
  let im = 0;
  for (let n = 0; n < window.length; n++) {
    const own = (window[n] as number) * (samples[from + n] as number);
    re += own * cos;
    im += own * sin;
    const before = cos;
    cos = before * turnRe - sin * turnIm;
    sin = before * turnIm + sin * turnRe;
  }
  // The mean of a Hann window is a half.
  return (4 * Math.sqrt(re * re + im * im)) / window.length;
}
