/** A loop that is played once and kept, in memory that threads share. */

import { KeptLoop, takeRound } from '../engine/loop.ts';
import type { Patch } from '../patch/patch.ts';
import type { Length } from '../timing/length.ts';

/** Samples in shared memory, which no thread has to copy for another. */
export type Kept = readonly Float64Array<SharedArrayBuffer>[];

export interface PlayedVariant {
  /** One array a channel, 1.0 being full scale. */
  readonly channels: Kept;
  /** Whether the tail did not die away. */
  readonly cut: boolean;
}

/**
 * Plays a loop, its tail folded into its start.
 * @returns undefined, having played nothing, if it takes more than `mostBytes`.
 */
export function playedLoop(
  patch: Patch,
  { sampleRate, length }: { readonly sampleRate: number; readonly length: Length },
  mostBytes: number,
): PlayedVariant | undefined {
  const take = takeRound(patch, { sampleRate, length });
  const bytes = take.musicFrames * Float64Array.BYTES_PER_ELEMENT;
  if (take.channels.length * bytes > mostBytes) return;
  const loop = new KeptLoop(take, () => new Float64Array(new SharedArrayBuffer(bytes)));
  while (!loop.isWhole) loop.playOn();
  return { channels: loop.channels as Kept, cut: loop.cut };
}
