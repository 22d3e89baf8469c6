/** Plays a patch and looks at its jacks: the render must confirm what the findings predict. */

import { Take } from '../../src/engine/take.ts';
import type { JackRef, Patch } from '../../src/patch/patch.ts';

/** Hz. */
export const RATE = 48_000;

/** The volts of jacks, written `module.jack`, over the first seconds of a patch. */
export function voltsOf(patch: Patch, seconds: number, ...names: string[]): Float64Array[] {
  const probes = names.map((name): JackRef => {
    const dot = name.lastIndexOf('.');
    return { module: name.slice(0, dot), jack: name.slice(dot + 1) };
  });
  const take = new Take(patch, {
    sampleRate: RATE,
    length: { unit: 'seconds', value: seconds },
    tail: { unit: 'seconds', value: 0 },
    probes,
  });
  const heard = names.map(() => new Float64Array(Math.round(seconds * RATE)));
  let at = 0;
  for (let frames = take.read(); frames > 0; frames = take.read()) {
    take.probes.forEach((volts, index) => {
      heard[index]?.set(volts.subarray(0, frames), at);
    });
    at += frames;
  }
  return heard;
}

/** Times, s, at which volts rise through a level, having been under half of it. */
export function rises(volts: Float64Array, level: number): number[] {
  const times: number[] = [];
  let ready = true;
  volts.forEach((value, sample) => {
    if (ready && value >= level) {
      times.push(sample / RATE);
      ready = false;
    } else if (value < level / 2) ready = true;
  });
  return times;
}

/** The largest size of a sample of the mix, 1 being full scale. */
export function loudest(patch: Patch, seconds: number): number {
  const take = new Take(patch, {
    sampleRate: RATE,
    length: { unit: 'seconds', value: seconds },
    tail: { unit: 'seconds', value: 0 },
  });
  let peak = 0;
  for (let frames = take.read(); frames > 0; frames = take.read())
    for (const channel of take.channels)
      for (let i = 0; i < frames; i++) peak = Math.max(peak, Math.abs(channel[i] as number));
  return peak;
}
