/** What a recording of a module shows about one position of a dial, or why it shows nothing. */

import { mean } from '../mean.ts';

/** A value in the unit of its quantity, with one standard error. */
export interface DialReading {
  readonly value: number;
  readonly error: number;
  /** Of stages of an envelope: which shape they have. */
  readonly curve?: 'exponential' | 'linear';
  /**
   * Of an attack, and of a glide: the height it reaches, 1 being full scale; it should be alike in all clips of a
   * dial.
   */
  readonly peak?: number;
}

/** Why there is no reading; the command has words for each. */
export type NoReading =
  | 'empty' // no samples
  | 'silent'
  | 'clipped'
  | 'too-short'
  | 'no-rest' // it begins, or ends, in the middle of a stroke
  | 'no-strokes' // it never rises from rest
  | 'too-fast' // faster than this sound can show
  | 'in-noise' // the floor hides too much of it
  | 'not-volts' // a sound where volts were expected
  | 'not-sound' // volts where a sound was expected
  | 'capacitor' // volts that went through a capacitor
  | 'no-hold' // a release with no held level before it
  | 'other-shape' // a stage of neither shape that the envelope has
  | 'no-noise' // tones, or music, where noise was expected
  | 'no-filter' // noise, but not through such a filter
  | 'by-chance' // a dip of noise that other dips are as deep as
  | 'needs-higher-rate' // a corner so high that the recording ends before it is seen
  | 'too-sharp' // a peak so narrow that the recording is too short to measure its width
  | 'out-of-sight' // the corner lies outside what the recording shows
  | 'other-colour' // noise of another colour
  | 'no-pulses' // no gate or clock
  | 'no-steps' // volts that move all the time, or never
  | 'uneven' // pulses of several lengths, or a rhythm
  | 'no-full-scale' // a time per volts, but the volts at full scale are not known
  | 'level-moves' // a sound that is not steady
  | 'no-pitch' // nothing that repeats
  | 'drifts'; // a pitch that is not steady

/** One channel of a recording, 1.0 being full scale. */
export interface MonoClip {
  /** Hz. */
  readonly sampleRate: number;
  readonly samples: Float64Array;
}

/** A reading whose standard error is above this share is a guess. */
export const GUESS = 0.2;

/** A stated error is this many standard errors: nineteen of twenty figures are within it. */
export const STATED = 2;

/** An interface's own clock is off by so much: common practice, no source. */
export const CLOCK_OFF = 1e-4;

/** Under this a recording is silence: -80 dB of full scale. */
const SILENT = 1e-4;
/** Just under full scale, the highest value of 16 bits. */
const FULL = 1 - 2 ** -15;
/** Samples at full scale; of noise a peak may touch it once. */
const MOST_FULL = 3;

/** Faults that make any recording useless: no samples, silence, or flat tops. */
export function uselessClip(
  { sampleRate, samples }: MonoClip,
  leastSeconds: number,
): NoReading | undefined {
  if (samples.length === 0) return 'empty';
  let peak = 0;
  let full = 0;
  for (let n = 0; n < samples.length; n++) {
    const size = Math.abs(samples[n] as number);
    if (size > peak) peak = size;
    if (size >= FULL) full += 1;
  }
  if (peak < SILENT) return 'silent';
  if (full >= MOST_FULL) return 'clipped';
  return samples.length < leastSeconds * sampleRate ? 'too-short' : undefined;
}

/** s. */
const BLOCK = 0.02;
/** A block under this share of the median block's power is a pause: -20 dB. */
const PAUSE = 0.01;

/** The sounding part of a clip of one steady sound, without the pauses before and after. */
export function steadyPart(clip: MonoClip): MonoClip {
  const { sampleRate, samples } = clip;
  const size = Math.max(1, Math.round(BLOCK * sampleRate));
  const sound = withoutOffset(clip).samples;
  const powers = Float64Array.from({ length: Math.floor(samples.length / size) }, (_, block) => {
    let sum = 0;
    for (let n = block * size; n < (block + 1) * size; n++) sum += (sound[n] as number) ** 2;
    return sum;
  });
  const least = PAUSE * (Float64Array.from(powers).sort()[powers.length >> 1] ?? 0);
  const first = powers.findIndex((power) => power > least);
  const last = powers.findLastIndex((power) => power > least);
  const sounds = first === 0 && last === powers.length - 1;
  if (first < 0 || sounds) return clip;
  // It may have been switched on within its first block.
  const from = first === 0 ? 0 : (first + 1) * size;
  const to = last === powers.length - 1 ? samples.length : last * size;
  return { sampleRate, samples: samples.subarray(from, Math.max(from, to)) };
}

/** A clip without its mean: a constant part, such as a narrow pulse has, repeats at any shift and is no noise. */
export function swinging({ sampleRate, samples }: MonoClip): MonoClip {
  const middle = mean(samples);
  return { sampleRate, samples: samples.map((value) => value - middle) };
}

/**
 * A sound without the offset that an interface adds to it: the mean of the calmest block, in which it rests if it
 * rests anywhere.
 */
export function withoutOffset({ sampleRate, samples }: MonoClip): MonoClip {
  const size = Math.max(1, Math.round(BLOCK * sampleRate));
  let offset = 0;
  let least = Number.POSITIVE_INFINITY;
  for (let at = 0; at + size <= samples.length; at += size) {
    let sum = 0;
    let squares = 0;
    for (let n = at; n < at + size; n++) {
      sum += samples[n] as number;
      squares += (samples[n] as number) ** 2;
    }
    const variance = squares / size - (sum / size) ** 2;
    if (variance < least) [offset, least] = [sum / size, variance];
  }
  return { sampleRate, samples: samples.map((value) => value - offset) };
}
