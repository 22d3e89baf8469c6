/**
 * Voices played by themselves, and figures of what an ear hears in them. Computed here and not
 * by src/measure, so that a mistake there cannot make a voice pass.
 */

import { Take } from '../../src/engine/take.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { powerSpectrum } from '../fft.ts';

/** Hz. */
export const RATE = 48_000;

/** The jacks that a part is played by. */
export interface Jacks {
  readonly gate: string;
  readonly accent?: string;
  readonly out: string;
}

/** A patch that plays one part once: its first step, at 60 bpm, with an accent or without. */
export function withPart(
  part: string,
  { gate, accent, out }: Jacks,
  set = '{}',
  hit = 'x',
): string {
  const cables = [
    `drums.hit -> voice.${gate}`,
    ...(accent === undefined ? [] : [`drums.hit-accent -> voice.${accent}`]),
    `voice.${out} -> out.left`,
  ];
  return `seed: workshop
parts: { voice: { file: parts/${part}.yaml, set: ${set} } }
modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hit], patterns: { once: { hit: "${hit}---------------" } } }
  out: { kind: output }
cables: [${cables.join(', ')}]
`;
}

/** Plays a patch. @returns its channels, 1 being full scale. */
export function played(patch: Patch, seconds?: number): readonly Float64Array[] {
  const take = new Take(patch, {
    sampleRate: RATE,
    length: seconds === undefined ? { unit: 'song' } : { unit: 'seconds', value: seconds },
    tail: { unit: 'seconds', value: 0 },
  });
  const heard = take.channels.map(() => new Float64Array(take.totalFrames ?? 0));
  let at = 0;
  for (let frames = take.read(); frames > 0; frames = take.read()) {
    take.channels.forEach((channel, side) => {
      heard[side]?.set(channel.subarray(0, frames), at);
    });
    at += frames;
  }
  return heard;
}

export function peakOf(samples: Float64Array): number {
  return samples.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
}

export function db(ratio: number): number {
  return 20 * Math.log10(ratio);
}

/** The rms in windows of so many seconds, a quarter of one apart; `times` are their middles. */
function levels(samples: Float64Array, window: number): { times: number[]; rms: number[] } {
  const hop = Math.max(1, Math.round((window * RATE) / 4));
  const times: number[] = [];
  const rms: number[] = [];
  for (let start = 0; start + 4 * hop <= samples.length; start += hop) {
    let sum = 0;
    for (let n = start; n < start + 4 * hop; n++) sum += (samples[n] as number) ** 2;
    times.push((start + 2 * hop) / RATE);
    rms.push(Math.sqrt(sum / (4 * hop)));
  }
  return { times, rms };
}

/** s from the start until the sound is 60 dB under its loudest for good. @param window s. */
export function timeTo60(samples: Float64Array, window: number): number {
  const { times, rms } = levels(samples, window);
  const loudest = Math.max(...rms);
  return times[rms.findLastIndex((value) => value > loudest / 1000)] ?? 0;
}

/** s in which the level first goes from 10 to 90 % of its highest. @param window s. */
export function attackOf(samples: Float64Array, window: number): number {
  const { times, rms } = levels(samples, window);
  const loudest = Math.max(...rms);
  const reaches = (share: number): number =>
    times[rms.findIndex((value) => value >= share * loudest)] ?? 0;
  return reaches(0.9) - reaches(0.1);
}

/** Power in each bin, and the bins' spacing in Hz, of all of a sound that ends in silence. */
export function spectrumOf(samples: Float64Array): { power: Float64Array; spacing: number } {
  const size = 2 ** Math.ceil(Math.log2(samples.length));
  const frame = new Float64Array(size);
  frame.set(samples);
  return { power: powerSpectrum(frame), spacing: RATE / size };
}

type Spectrum = ReturnType<typeof spectrumOf>;

/** Hz above this; below lies what a loudspeaker does not give. */
const LOWEST = 15;

/** The mean frequency, weighted by power, Hz. */
export function centroidOf({ power, spacing }: Spectrum): number {
  let sum = 0;
  let weighted = 0;
  power.forEach((value, bin) => {
    if (bin * spacing < LOWEST) return;
    sum += value;
    weighted += value * bin * spacing;
  });
  return weighted / sum;
}

/** The share of the power that lies between two frequencies. */
export function shareBetween({ power, spacing }: Spectrum, low: number, high: number): number {
  let all = 0;
  let within = 0;
  power.forEach((value, bin) => {
    const hertz = bin * spacing;
    if (hertz < LOWEST) return;
    all += value;
    if (hertz >= low && hertz < high) within += value;
  });
  return within / all;
}

/** The frequency of the strongest bin between two frequencies, Hz. */
export function strongest({ power, spacing }: Spectrum, low: number, high: number): number {
  let best = Math.ceil(low / spacing);
  for (let bin = best; bin * spacing < high; bin++)
    if ((power[bin] as number) > (power[best] as number)) best = bin;
  return best * spacing;
}

/** The pitch of a tone by its rising zero crossings between two times, Hz. */
export function pitchBetween(samples: Float64Array, from: number, to: number): number {
  const crossings: number[] = [];
  for (let n = Math.round(from * RATE); n < Math.round(to * RATE); n++) {
    const before = samples[n - 1] ?? 0;
    const here = samples[n] as number;
    if (before < 0 && here >= 0) crossings.push(n - here / (here - before));
  }
  const first = crossings[0] ?? 0;
  const last = crossings.at(-1) ?? 0;
  return ((crossings.length - 1) * RATE) / (last - first);
}

/** The rms frequency of a stretch, Hz: that of its slope over its own. A click makes it high. */
export function rmsFrequency(samples: Float64Array, from: number, to: number): number {
  let own = 0;
  let slope = 0;
  for (let n = Math.round(from * RATE) + 1; n < Math.round(to * RATE); n++) {
    own += (samples[n] as number) ** 2;
    slope += ((samples[n] as number) - (samples[n - 1] as number)) ** 2;
  }
  return (RATE / (2 * Math.PI)) * Math.sqrt(slope / own);
}
