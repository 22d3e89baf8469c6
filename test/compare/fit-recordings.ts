/** Recordings to fit to: renders with other settings, sounds of closed form, and what spoils them. */

import { readVariant } from '../../src/compare/variant.ts';
import { Take } from '../../src/engine/take.ts';
import type { FitSource } from '../../src/fit/recording.ts';
import type { KindsOption } from '../../src/modules/kinds.ts';
import type { PatchTexts } from '../../src/patch/texts.ts';

/** Uniform numbers from -1 to 1; not the project's own generator. Source: Marsaglia, Xorshift RNGs, J. Stat. Softw. 8 (2003) (from memory). */
export function uniform(seed: number): () => number {
  let x = seed;
  return () => {
    x ^= x << 13;
    x ^= x >>> 17;
    x ^= x << 5;
    return x / 2 ** 31;
  };
}

/** Powers of a noise: each the mean of so many, which are exponentially distributed around 1. */
export function noisePowers(seed: number): (values: number) => number {
  const next = uniform(seed);
  return (values) => {
    let sum = 0;
    for (let k = 0; k < values; k++) sum -= Math.log((1 + next()) / 2);
    return sum / values;
  };
}

/** A patch with other settings and another seed, after 100 ms of silence. */
export function rendered(
  written: PatchTexts,
  set: readonly string[],
  { sampleRate, seconds, ...of }: { sampleRate: number; seconds: number } & KindsOption,
): Float64Array {
  const { patch } = readVariant(written, [...set, 'seed=another'], of);
  if (patch === undefined) throw new Error('not a patch');
  const take = new Take(patch, {
    sampleRate,
    length: { unit: 'seconds', value: seconds },
    tail: { unit: 'seconds', value: 0.3 },
  });
  const lead = Math.round(0.1 * sampleRate);
  const samples = new Float64Array(lead + (take.totalFrames ?? 0));
  for (let frames = take.read(), at = lead; frames > 0; at += frames, frames = take.read())
    samples.set((take.channels[0] as Float64Array).subarray(0, frames), at);
  return samples;
}

/** Noise, a hum of 50 Hz and an offset; noise and hum together `db` under the peak's sine. */
export function spoilt(samples: Float64Array, sampleRate: number, db: number): Float64Array {
  const peak = samples.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  const rms = (peak / Math.SQRT2) * 10 ** (-db / 20);
  const next = uniform(2463534242);
  // Half the power each: a uniform number has a mean square of 1/3, a sine one of 1/2.
  return samples.map(
    (value, n) =>
      value +
      rms * Math.sqrt(1.5) * next() +
      rms * Math.sin((2 * Math.PI * 50 * n) / sampleRate) +
      0.05 * peak,
  );
}

export function source(sampleRate: number, ...channels: readonly Float64Array[]): FitSource {
  const frames = channels[0]?.length ?? 0;
  return { sampleRate, channels: channels.length, blocks: [{ channels, frames }] };
}
