/**
 * The share of a steady sound that an attenuator or a mixer lets through: the rms of the output over that of
 * the input, both recorded at one gain. An inverted output is as loud: the sign is not told.
 */

import {
  type DialReading,
  type MonoClip,
  type NoReading,
  steadyPart,
  swinging,
  uselessClip,
} from './reading.ts';

const LEAST_SECONDS = 0.2;
/** Length of a block, s: a steady sound has the same level in each. */
const BLOCK = 0.05;
/** Of the level: a sound that scatters by more from block to block is not steady. */
const STEADY = 0.25;
/**
 * The error of a share is no less than this: plugs and an interface's gain vary by it, common practice, no source.
 */
const BEST = 0.002;
/** ... and this share leaks past a shut one. */
const CREEPS = 0.0005;

interface MeanLevel {
  /** Samples without their mean, 1 being full scale. */
  readonly rms: number;
  readonly error: number;
}

/**
 * @param clip the output; silence is a share of 0.
 * @param input the input.
 */
export function sharePassed(clip: MonoClip, input: MonoClip): DialReading | NoReading {
  const whole = levelOf(input);
  if (typeof whole === 'string') return whole;
  const part = levelOf(clip);
  if (part === 'silent') return { value: 0, error: CREEPS };
  if (typeof part === 'string') return part;
  const value = part.rms / whole.rms;
  const apart = Math.hypot(part.error / part.rms, whole.error / whole.rms);
  return { value, error: Math.hypot(value * apart, BEST * value, CREEPS) };
}

function levelOf(recorded: MonoClip): MeanLevel | NoReading {
  const useless = uselessClip(recorded, LEAST_SECONDS);
  if (useless !== undefined) return useless;
  const { sampleRate, samples } = swinging(steadyPart(recorded));
  const size = Math.round(BLOCK * sampleRate);
  const powers = Float64Array.from({ length: Math.floor(samples.length / size) }, (_, block) => {
    let sum = 0;
    for (let n = block * size; n < (block + 1) * size; n++) sum += (samples[n] as number) ** 2;
    return sum / size;
  });
  if (powers.length < 2) return 'too-short';
  const power = powers.reduce((sum, one) => sum + one, 0) / powers.length;
  const variance = powers.reduce((sum, one) => sum + (one - power) ** 2, 0) / (powers.length - 1);
  // The relative error of a level is half that of its power.
  const scatter = Math.sqrt(variance) / power / 2;
  if (!(scatter < STEADY)) return 'level-moves';
  const rms = Math.sqrt(power);
  return { rms, error: (rms * scatter) / Math.sqrt(powers.length) };
}
