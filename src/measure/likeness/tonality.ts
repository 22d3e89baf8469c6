/**
 * How much of a hit is tone, and where its strongest partial is: a tone and a noise can look alike in
 * third octaves.
 *
 * One spectrum of the first 300 ms, through a window that rises over 5 ms and falls over the rest (the
 * squares of a sine and a cosine). The flatness of a band, in dB, is the mean of the logarithms of its
 * bins less the logarithm of their mean: 10 log10(exp(-0.577)) = -2.5 dB for noise, far less for a
 * tone. The hit's is the mean over the third octaves from 100 Hz on, by their power.
 */

import { bandEdges } from '../spectrum/bands.ts';
import { RealTransform } from '../spectrum/transform.ts';
import { type HitSound, LAST_BAND } from './band-frames.ts';

export interface Tonality {
  /** dB, from -40; 0 would be a spectrum without any structure. */
  readonly flatnessDb: number;
  /** Frequency of the strongest partial, Hz; null for a hit without sound in the bands. */
  readonly partialHz: number | null;
}

const SECONDS = 0.3;
const RISE = 0.005;
/** 100 Hz: bands below have too few bins. */
const FIRST_BAND = -10;
/** Partials are looked for from here on, Hz. */
const LOWEST_PARTIAL = 30;
const LEAST_DB = -40;
/** How many times more bins than the sound needs, so that the partial's place is exact. */
const PADDING = 2;

/** What a spectrum at one sample rate is worked out in: a fit takes a thousand of them. */
interface SpectrumBuffers {
  readonly transform: RealTransform;
  readonly frame: Float64Array;
  readonly window: Float64Array;
}

const works = new Map<number, SpectrumBuffers>();

function workOf(sampleRate: number): SpectrumBuffers {
  const known = works.get(sampleRate);
  if (known !== undefined) return known;
  const length = Math.round(SECONDS * sampleRate);
  const size = 2 ** Math.ceil(Math.log2(PADDING * length));
  const rise = Math.max(1, Math.round(RISE * sampleRate));
  const window = new Float64Array(length);
  for (let n = 0; n < length; n++)
    window[n] =
      n < rise
        ? Math.sin((Math.PI / 2) * ((n + 0.5) / rise)) ** 2
        : Math.cos((Math.PI / 2) * ((n - rise) / (length - rise))) ** 2;
  const made = { transform: new RealTransform(size), frame: new Float64Array(size), window };
  works.set(sampleRate, made);
  return made;
}

/** The spectrum of a hit's start, as above: power by bin. */
export function startSpectrum({ samples, sampleRate, onset, end }: HitSound): {
  readonly power: Float64Array;
  readonly binHz: number;
} {
  const { transform, frame, window } = workOf(sampleRate);
  const heard = Math.min(window.length, end - onset);
  for (let n = 0; n < heard; n++) frame[n] = (window[n] as number) * (samples[onset + n] as number);
  frame.fill(0, heard);
  transform.run(frame);
  const { re, im } = transform;
  const power = new Float64Array(re.length);
  for (let k = 0; k < power.length; k++)
    power[k] = (re[k] as number) * (re[k] as number) + (im[k] as number) ** 2;
  return { power, binHz: sampleRate / frame.length };
}

/** @returns the tonality of the hit's start, up to its end. */
export function tonalityOf(sound: HitSound): Tonality {
  const { power, binHz } = startSpectrum(sound);
  const { sampleRate } = sound;
  let sum = 0;
  let whole = 0;
  for (let x = FIRST_BAND; x <= LAST_BAND; x++) {
    const [low, high] = bandEdges(x);
    if (high > sampleRate / 2) break;
    const bins = power.subarray(Math.ceil(low / binHz), Math.floor(high / binHz) + 1);
    let own = 0;
    for (let k = 0; k < bins.length; k++) own += bins[k] as number;
    if (!(own > 0)) continue;
    sum += own * Math.max(LEAST_DB, flatnessDb(bins, own));
    whole += own;
  }
  return {
    flatnessDb: whole > 0 ? sum / whole : 0,
    partialHz: strongest(power, binHz, bandEdges(LAST_BAND)[1]),
  };
}

function flatnessDb(bins: Float64Array, total: number): number {
  const mean = total / bins.length;
  // An empty bin must not decide the whole.
  let logs = 0;
  for (let k = 0; k < bins.length; k++)
    logs += Math.log10(Math.max(1e-12, (bins[k] as number) / mean));
  return (10 * logs) / bins.length;
}

/** The largest bin, its place told by the parabola through its logarithm and its neighbours'. */
function strongest(power: Float64Array, binHz: number, highest: number): number | null {
  const last = Math.min(power.length - 2, Math.floor(highest / binHz));
  let best = Math.max(1, Math.ceil(LOWEST_PARTIAL / binHz));
  for (let k = best; k <= last; k++) if ((power[k] as number) > (power[best] as number)) best = k;
  if (!((power[best] as number) > 0)) return null;
  const [before, at, after] = [best - 1, best, best + 1].map((k) =>
    Math.log(Math.max(Number.MIN_VALUE, power[k] as number)),
  ) as [number, number, number];
  const bend = before - 2 * at + after;
  const shift = bend < 0 ? (before - after) / (2 * bend) : 0;
  return (best + Math.max(-0.5, Math.min(0.5, shift))) * binHz;
}
