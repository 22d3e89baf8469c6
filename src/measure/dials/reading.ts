/** What a recording of a module at one position of a dial tells of it, or why it tells nothing. */

/** A value in the unit of its quantity, with one standard error. */
export interface DialReading {
  readonly value: number;
  readonly error: number;
  /** Of stages of an envelope: which shape they have. */
  readonly curve?: 'exponential' | 'linear';
  /** Of an attack, and of a glide: how high it gets, 1 being full scale; all clips of a dial should be alike. */
  readonly peak?: number;
}

/** Why there is none; the command has words for each. */
export type NoReading =
  | 'empty' // no samples
  | 'silent'
  | 'clipped'
  | 'too-short'
  | 'no-rest' // it begins, or goes on, in the midst of a stroke
  | 'no-strokes' // it never rises from rest
  | 'too-fast' // faster than this sound shows
  | 'in-noise' // the floor hides too much of it
  | 'not-volts' // a sound where volts were said
  | 'not-sound' // volts where a sound was said
  | 'capacitor' // volts that went through a capacitor
  | 'no-hold' // a release that nothing was held before
  | 'other-shape' // a stage of neither shape that the envelope has
  | 'no-noise' // tones, or music, where noise was said
  | 'no-filter' // noise, but not through such a filter
  | 'needs-higher-rate' // a corner so high that the recording ends before it is seen
  | 'too-sharp' // a peak so narrow that the recording is too short to tell its width
  | 'out-of-sight' // the corner lies outside what the recording shows
  | 'other-colour' // noise of another colour
  | 'no-pulses' // no gate or clock
  | 'no-steps' // volts that move all the time, or stand
  | 'uneven' // pulses of several lengths, or a rhythm
  | 'no-full-scale' // a time for so many volts, where nobody said what full scale stands for
  | 'level-moves' // a sound that is not steady
  | 'no-pitch' // nothing that repeats
  | 'drifts'; // a pitch that does not stand

/** One channel of a recording, 1.0 being full scale. */
export interface Clip {
  /** Hz. */
  readonly sampleRate: number;
  readonly samples: Float64Array;
}

/** What {@link DialReading} calls for in each quantity: a standard error above this share is a guess. */
export const GUESS = 0.2;

/** A stated error is so many standard errors: of twenty figures nineteen are within it. */
export const STATED = 2;

/** An interface's own clock is off by so much: common practice, no source. */
export const CLOCK_OFF = 1e-4;

/** Under this a recording is silence: -80 dB of full scale. */
const SILENT = 1e-4;
/** Just under full scale, where 16 bits end. */
const FULL = 1 - 2 ** -15;
/** Samples at full scale; of noise a peak may touch it once. */
const MOST_FULL = 3;

/** What makes any recording useless: nothing in it, or flat tops. */
export function uselessClip(
  { sampleRate, samples }: Clip,
  leastSeconds: number,
): NoReading | undefined {
  if (samples.length === 0) return 'empty';
  let [peak, full] = [0, 0];
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
/** A block under this share of the middling one's power is a pause: -20 dB. */
const PAUSE = 0.01;

/** What sounds of a clip of one steady sound: without the pause before it is switched on and after. */
export function steadyPart(clip: Clip): Clip {
  const { sampleRate, samples } = clip;
  const size = Math.max(1, Math.round(BLOCK * sampleRate));
  const powers = Float64Array.from({ length: Math.floor(samples.length / size) }, (_, block) => {
    let sum = 0;
    for (let n = block * size; n < (block + 1) * size; n++) sum += (samples[n] as number) ** 2;
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
