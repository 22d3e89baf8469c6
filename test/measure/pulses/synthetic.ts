/** Recordings of gates whose figures are all known, made separately from the code that measures them. */

import type { PulseSource } from '../../../src/measure/pulses/pulses.ts';
import { Random } from '../../../src/modules/dsp/random.ts';

export interface Recorded {
  /** When it rises and falls, s, at half of the swing. */
  readonly pulses: readonly { readonly rise: number; readonly fall: number }[];
  readonly low: number;
  readonly high: number;
  /** s, of a straight ramp from end to end: 10 to 90 % take 0.8 of it. */
  readonly ramp: number;
  readonly seconds: number;
  readonly sampleRate: number;
  readonly bits: 16 | 24;
  /** V at full scale. */
  readonly fullScale: number;
  /** V rms, Gaussian. */
  readonly noise: number;
  /** Hz of a first-order high-pass that the interface has; 0 for one that passes direct current. */
  readonly corner: number;
  readonly seed: number;
}

/** Gaussian numbers, by Box and Muller. */
export function gaussian(seed: number): () => number {
  const random = new Random(Uint32Array.of(seed, 1, 2, 3));
  const uniform = (): number => (random.bits() >>> 0) / 2 ** 32;
  return () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
}

export function samplesOf(recorded: Recorded): Float64Array {
  const { pulses, low, high, ramp, seconds, sampleRate, bits, fullScale, noise, corner } = recorded;
  const samples = new Float64Array(Math.round(seconds * sampleRate)).fill(low);
  const done = (time: number, edge: number): number =>
    Math.min(1, Math.max(0, (time - edge) / ramp + 0.5));
  for (const { rise, fall } of pulses) {
    const end = Math.min(samples.length, Math.ceil((fall + ramp) * sampleRate));
    for (let n = Math.max(0, Math.floor((rise - ramp) * sampleRate)); n < end; n++) {
      const time = n / sampleRate;
      samples[n] = low + (high - low) * (done(time, rise) - done(time, fall));
    }
  }
  if (corner > 0) {
    // y' = x' - 2 pi corner y, exact for what is straight between samples but for its ramp.
    const keep = Math.exp((-2 * Math.PI * corner) / sampleRate);
    let [before, out] = [samples[0] as number, 0];
    for (let n = 0; n < samples.length; n++) {
      const value = samples[n] as number;
      out = keep * (out + value - before);
      before = value;
      samples[n] = out;
    }
  }
  const random = gaussian(recorded.seed);
  const steps = 2 ** (bits - 1);
  for (let n = 0; n < samples.length; n++) {
    const volts = (samples[n] as number) + noise * random();
    samples[n] = Math.round((volts / fullScale) * steps) / steps;
  }
  return samples;
}

/** In blocks of odd lengths, since no measure may depend on them. */
export function sourceOf(samples: Float64Array, sampleRate: number, fullScale = 10): PulseSource {
  const block = 4097;
  return {
    sampleRate,
    fullScale,
    channel: 0,
    blocks: function* () {
      for (let from = 0; from < samples.length; from += block) {
        const piece = samples.subarray(from, from + block);
        yield { channels: [piece], frames: piece.length };
      }
    },
  };
}

/** A clock: so many pulses a period apart, each moved by a Gaussian of so many seconds. */
export function clockOf(
  some: Partial<Recorded> & {
    readonly period: number;
    readonly count: number;
    readonly width: number;
    readonly jitter?: number;
    /** %; every second pulse is late by it. */
    readonly swing?: number;
  },
): Recorded & { readonly moved: readonly number[] } {
  const { period, count, width, jitter = 0, swing = 50, seed = 1 } = some;
  const random = gaussian(seed + 1000);
  const moved = Array.from({ length: count }, () => jitter * random());
  const pulses = moved.map((off, n) => {
    const late = n % 2 === 1 ? (2 * swing) / 100 - 1 : 0;
    const rise = 0.03 + (n + late) * period + off;
    return { rise, fall: rise + width };
  });
  return {
    low: 0,
    high: 5,
    ramp: 80e-6,
    seconds: 0.06 + count * period + width,
    sampleRate: 48_000,
    bits: 24,
    fullScale: 10,
    noise: 0,
    corner: 0,
    seed,
    ...some,
    pulses,
    moved,
  };
}
