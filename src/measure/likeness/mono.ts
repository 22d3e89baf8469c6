/** A sound as one channel: always the same samples, so that its hits are the same. */

import { Mixdown } from '../mixdown.ts';
import { OffsetBlocker } from '../offset-blocker.ts';

/** Samples in memory, one array a channel, 1.0 being full scale. */
export interface Sound {
  /** Hz, from 8000. */
  readonly sampleRate: number;
  /** One or more, all of one length, finite numbers. */
  readonly channels: readonly (Float32Array | Float64Array)[];
}

/** Samples that are looked at together: the offset is measured in the first block. */
const CHUNK = 4096;

/** One channel, without offset; channels of opposite sign are inverted first. */
export function monoOf({ sampleRate, channels }: Sound): Float64Array {
  const length = channels[0]?.length;
  if (length === undefined) throw new RangeError('it has no channel');
  const mixdown = new Mixdown(channels.length, CHUNK);
  const blocker = new OffsetBlocker(sampleRate, CHUNK);
  const mono = new Float64Array(length);
  for (let from = 0; from < length; from += CHUNK) {
    const size = Math.min(CHUNK, length - from);
    const chunk = channels.map((one) => Float64Array.from(one.subarray(from, from + size)));
    mono.set(blocker.run(mixdown.run(chunk, size), size).subarray(0, size), from);
  }
  return mono;
}
