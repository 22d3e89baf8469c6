/**
 * The pitch of a steady wave, to a fraction of a cent: a rough period first, then how far the phase of
 * its fundamental turns from frame to frame against a wave of that frequency. A frequency that is off by
 * d turns it by 2 pi d a second, so the slope of the phase over time gives the difference.
 *
 * Source: frequency from the slope of the phase: Tretter, Estimating the Frequency of a Noisy Sinusoid by
 * Linear Regression, IEEE Trans. Information Theory 31 (1985) 832-835 (from memory).
 */

import { Decimator } from '../decimator.ts';
import { HighPitchMeter } from '../pitch/high-pitch.ts';
import { PeriodFinder } from '../pitch/period.ts';
import {
  CLOCK_OFF,
  type DialReading,
  type MonoClip,
  type NoReading,
  steadyPart,
  swinging,
  uselessClip,
} from './reading.ts';

const LEAST_SECONDS = 0.25;
/** A clip that repeats as well as this is a wave. */
const CLEAR = 0.8;
/** The period is found in a stretch of at least 1024 samples at one of these rates, Hz. */
const RATES = [48_000, 10_000, 2_000, 500, 100];
const FRAMES = 24;
/** The factor by which frames grow from one look to the next. */
const LONGER = 3;
/** Periods in a frame at least, so that partials next to the fundamental are suppressed. */
const PERIODS = 4;
/** A pitch that moves by more than this either way, octaves, is not steady: a tenth of a semitone. */
const STANDS = 0.1 / 12;

/** @returns Hz. */
export function steadyPitch(recorded: MonoClip): DialReading | NoReading {
  const useless = uselessClip(recorded, LEAST_SECONDS);
  if (useless !== undefined) return useless;
  const clip = swinging(steadyPart(recorded));
  const period = roughHz(clip);
  const rough = period === undefined ? undefined : fundamentalOf(clip, period);
  if (rough === undefined) return 'no-pitch';
  const { sampleRate, samples } = clip;
  let found: Turning | undefined = { hz: rough, error: 0, spread: 0 };
  // Short frames first: from frame to frame only up to half a turn can be told.
  for (let length = (PERIODS * sampleRate) / rough; ; length *= LONGER) {
    const longest = Math.floor(samples.length / FRAMES);
    const frame = Math.ceil(Math.max((PERIODS * sampleRate) / rough, Math.min(length, longest)));
    found = turning(clip, found.hz, frame);
    if (found === undefined) return 'too-short';
    if (length >= longest) break;
  }
  if (!(found.spread < STANDS * Math.LN2 * found.hz)) return 'drifts';
  return { value: found.hz, error: Math.hypot(found.error, CLOCK_OFF * found.hz) };
}

/** From the highest rate down: a low wave's period is longer than a stretch at the high rates. */
function roughHz({ sampleRate, samples }: MonoClip): number | undefined {
  const middle = samples.length >> 1;
  const high = new HighPitchMeter(sampleRate);
  const top = high.measure(
    samples,
    Math.max(0, middle - 4096),
    Math.min(samples.length, middle + 4096),
    { lowest: 1500, leastClarity: CLEAR },
  );
  let best: { hz: number; clarity: number } | undefined;
  for (const wanted of RATES) {
    const factor = Math.max(1, Math.floor(sampleRate / wanted));
    const rate = sampleRate / factor;
    const low = factor === 1 ? samples : new Decimator(factor, 0.35 / factor).reduce(samples);
    const from = Math.max(0, (low.length >> 1) - 512);
    const found = new PeriodFinder(rate).find(low, from, Math.min(low.length, from + 1024));
    if (found === null || found.hz > rate / 4 || found.hz < (3 * rate) / 1024) continue;
    if (found.clarity > CLEAR && found.clarity > (best?.clarity ?? 0) + 0.05) best = found;
  }
  if (top !== null && top.clarity > (best?.clarity ?? 0) + 0.02) return top.hz;
  return best?.hz ?? top?.hz;
}

/** The least share of a wave's rms, without its mean, in its fundamental: a pulse of 5 % width has 0.32. */
const FUNDAMENTAL = 0.2;
/** A wave that repeats after one period repeats after several: at most so many may have been taken for one. */
const MOST_PERIODS = 16;
/** Periods in the stretch that is analysed. */
const LOOKED_AT = 24;

/**
 * Finds the fundamental of a wave, given a frequency whose period is one or several of its own.
 * @returns undefined where the wave contains none of the frequency's multiples.
 */
function fundamentalOf({ sampleRate, samples }: MonoClip, hz: number): number | undefined {
  const length = Math.min(samples.length, Math.ceil((LOOKED_AT * sampleRate) / hz));
  const from = (samples.length - length) >> 1;
  let squares = 0;
  for (let n = from; n < from + length; n++) squares += (samples[n] as number) ** 2;
  const least = FUNDAMENTAL * Math.sqrt(squares / length);
  for (let times = 1; times <= MOST_PERIODS && times * hz < sampleRate / 2; times++) {
    const step = (2 * Math.PI * times * hz) / sampleRate;
    let re = 0;
    let im = 0;
    for (let n = 0; n < length; n++) {
      // A Hann line is two bins wide either way, so the rough period may be off by 1/24.
      const weight = 2 * Math.sin((Math.PI * (n + 0.5)) / length) ** 2;
      re += weight * (samples[from + n] as number) * Math.cos(step * n);
      im += weight * (samples[from + n] as number) * Math.sin(step * n);
    }
    if ((Math.SQRT2 * Math.hypot(re, im)) / length > least) return times * hz;
  }
  return undefined;
}

interface Turning {
  readonly hz: number;
  readonly error: number;
  /** Hz, root mean square from frame to frame. */
  readonly spread: number;
}

/** @param length of a frame, in samples; those in the middle are taken. */
function turning(
  { sampleRate, samples }: MonoClip,
  hz: number,
  length: number,
): Turning | undefined {
  const frames = Math.min(FRAMES, Math.floor(samples.length / length));
  if (frames < 3) return undefined;
  const first = (samples.length - frames * length) >> 1;
  const turns: number[] = [];
  for (let frame = 0; frame < frames; frame++) {
    let re = 0;
    let im = 0;
    for (let n = 0; n < length; n++) {
      const at = first + frame * length + n;
      const weight = Math.sin((Math.PI * (n + 0.5)) / length) ** 2 * (samples[at] as number);
      const turn = (at * hz) / sampleRate;
      const angle = 2 * Math.PI * (turn - Math.floor(turn));
      re += weight * Math.cos(angle);
      im -= weight * Math.sin(angle);
    }
    const turned = Math.atan2(im, re) / (2 * Math.PI);
    const before = turns.at(-1) ?? turned;
    turns.push(turned + Math.round(before - turned));
  }
  // The line through the turns, by the normal equations.
  const seconds = length / sampleRate;
  const middle = (frames - 1) / 2;
  const mean = turns.reduce((sum, turn) => sum + turn, 0) / frames;
  let up = 0;
  let across = 0;
  turns.forEach((turn, k) => {
    up += (k - middle) * (turn - mean);
    across += (k - middle) ** 2;
  });
  const slope = up / across;
  let squares = 0;
  turns.forEach((turn, k) => {
    squares += (turn - mean - slope * (k - middle)) ** 2;
  });
  let moves = 0;
  for (let k = 1; k < frames; k++)
    moves += ((turns[k] as number) - (turns[k - 1] as number) - slope) ** 2;
  return {
    hz: hz + slope / seconds,
    error: Math.sqrt(squares / Math.max(1, frames - 2) / across) / seconds,
    spread: Math.sqrt(moves / (frames - 1)) / seconds,
  };
}
