/**
 * A loop that is played once and kept: what `engine/loop.ts` gives block by block in playing it twice.
 * The samples are the same to the last bit, but for the sign of a zero.
 */

import { withoutCountIn } from '../engine/loop.ts';
import { type Length, Take } from '../engine/take.ts';
import type { Patch } from '../patch/patch.ts';

/** Samples in shared memory, which no thread has to copy for another. */
export type Kept = readonly Float64Array<SharedArrayBuffer>[];

export interface Played {
  /** One array a channel, 1.0 being full scale. */
  readonly channels: Kept;
  /** Whether the tail did not die away. */
  readonly cut: boolean;
}

/** Frames by which the memory for a tail grows. */
const GROWTH = 16_384;

/**
 * Plays a loop, its tail going round to its head.
 * @returns undefined, having played nothing, if it takes more than `mostBytes`.
 */
export function playedLoop(
  given: Patch,
  { sampleRate, length }: { readonly sampleRate: number; readonly length: Length },
  mostBytes: number,
): Played | undefined {
  const take = new Take(withoutCountIn(given), { sampleRate, length, tail: { unit: 'silence' } });
  const bytes = take.musicFrames * Float64Array.BYTES_PER_ELEMENT;
  if (take.channels.length * bytes > mostBytes) return;
  const tracks = take.channels.map((block) => ({
    block,
    samples: new Float64Array(new SharedArrayBuffer(bytes)),
    tail: new Float64Array(0),
  }));
  let at = 0;
  for (let frames = take.read(); frames > 0; frames = take.read()) {
    for (const track of tracks) add(track, at, frames);
    at += frames;
  }
  tracks.forEach(fold);
  return { channels: tracks.map(({ samples }) => samples), cut: take.cut };
}

interface Track {
  readonly block: Float64Array;
  readonly samples: Float64Array;
  /** Summed by itself, since sums depend on their order in the last bit. */
  tail: Float64Array;
}

function fold({ samples, tail }: Track): void {
  for (let n = 0; n < tail.length; n++) samples[n] = (samples[n] as number) + (tail[n] as number);
}

function add(track: Track, at: number, frames: number): void {
  const { block, samples } = track;
  const music = Math.min(frames, Math.max(0, samples.length - at));
  for (let i = 0; i < music; i++) samples[at + i] = block[i] as number;
  for (let i = music; i < frames; i++) {
    const place = (at + i) % samples.length;
    if (place >= track.tail.length) {
      const longer = new Float64Array(Math.min(samples.length, track.tail.length + GROWTH));
      longer.set(track.tail);
      track.tail = longer;
    }
    track.tail[place] = (track.tail[place] as number) + (block[i] as number);
  }
}
