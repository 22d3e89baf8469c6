/**
 * A loop that is played once and kept: the samples that `engine/loop.ts` gives block by block in
 * playing it twice.
 */

import { FoldedTail } from '../engine/folded-tail.ts';
import { withoutCountIn } from '../engine/loop.ts';
import { type Length, Take } from '../engine/take.ts';
import type { Patch } from '../patch/patch.ts';

/** Samples in shared memory, which no thread has to copy for another. */
export type Kept = readonly Float64Array<SharedArrayBuffer>[];

export interface PlayedVariant {
  /** One array a channel, 1.0 being full scale. */
  readonly channels: Kept;
  /** Whether the tail did not die away. */
  readonly cut: boolean;
}

/**
 * Plays a loop, its tail going round to its head.
 * @returns undefined, having played nothing, if it takes more than `mostBytes`.
 */
export function playedLoop(
  patch: Patch,
  { sampleRate, length }: { readonly sampleRate: number; readonly length: Length },
  mostBytes: number,
): PlayedVariant | undefined {
  const take = new Take(withoutCountIn(patch), { sampleRate, length, tail: { unit: 'silence' } });
  const bytes = take.musicFrames * Float64Array.BYTES_PER_ELEMENT;
  if (take.channels.length * bytes > mostBytes) return;
  const tracks = take.channels.map((block) => ({
    block,
    samples: new Float64Array(new SharedArrayBuffer(bytes)),
    tail: new FoldedTail(take.musicFrames),
  }));
  for (let given = take.read(); given > 0; given = take.read()) {
    const start = take.frames - given;
    const music = Math.max(0, Math.min(given, take.musicFrames - start));
    for (const { block, samples, tail } of tracks) {
      if (music > 0) samples.set(block.subarray(0, music), start);
      tail.collect(block, start, given);
    }
  }
  for (const { samples, tail } of tracks) tail.addTo(samples);
  return { channels: tracks.map(({ samples }) => samples), cut: take.cut };
}
