/** A WAV file in memory, whole or as its samples are made. Uses nothing of Node. */

import { SOFTWARE, type WavSpec, wavParts } from './wav-format.ts';
import { Packer, SAMPLE_BYTES } from './wav-pack.ts';

/**
 * Makes the bytes of a WAV file: those that `openWav` writes of the same samples.
 * @param channels one array a channel, all of one length, 1.0 being full scale. Samples beyond it are
 *   limited at 16 and 24 bits.
 * @param spec the rest of what the file says. 16 bits are dithered, the same each time.
 * @returns bytes that the caller owns.
 * @throws RangeError if there is no channel, or their lengths differ; Error if a sample is not a finite
 *   number, or the sample rate or a cue is not a whole number in the format's range.
 */
export async function wavBytes(
  channels: readonly Float64Array[],
  spec: Omit<WavSpec, 'channels' | 'software'>,
): Promise<Uint8Array<ArrayBuffer>> {
  const frames = channels[0]?.length;
  if (frames === undefined) throw new RangeError('a WAV file has at least one channel');
  if (channels.some(({ length }) => length !== frames))
    throw new RangeError(
      `the channels have different lengths: ${channels.map(({ length }) => length).join(', ')}`,
    );
  const wav = new WavMemory({ ...spec, channels: channels.length }, frames);
  wav.add(channels, frames);
  return wav.finish();
}

/** A WAV file in the making, in memory. */
export class WavMemory {
  /** So far. */
  frames = 0;
  private readonly spec: WavSpec;
  private readonly packer: Packer;
  private readonly frameBytes: number;
  private data: Uint8Array<ArrayBuffer>;

  /**
   * @param spec what the file says besides its samples. 16 bits are dithered, the same each time.
   * @param room frames that are likely to come; there may be more.
   */
  constructor(spec: Omit<WavSpec, 'software'>, room: number) {
    this.spec = { ...spec, software: SOFTWARE };
    this.packer = new Packer(spec.channels, spec.depth, true);
    this.frameBytes = spec.channels * SAMPLE_BYTES[spec.depth];
    this.data = new Uint8Array(room * this.frameBytes);
  }

  /**
   * Adds the first `count` samples of each channel, 1.0 being full scale.
   * @throws Error if one is not a finite number.
   */
  add(channels: readonly Float64Array[], count: number): void {
    const start = this.frames * this.frameBytes;
    const end = start + count * this.frameBytes;
    if (end > this.data.length) {
      const longer = new Uint8Array(Math.max(end, Math.ceil(GROWTH * this.data.length)));
      longer.set(this.data.subarray(0, start));
      this.data = longer;
    }
    this.packer.pack(channels, 0, count, this.data, start);
    this.frames += count;
  }

  /**
   * Ends the file.
   * @returns its bytes, which the caller owns.
   * @throws Error if the sample rate or a cue is not a whole number in the format's range.
   */
  async finish(): Promise<Uint8Array<ArrayBuffer>> {
    const { head, tail } = await wavParts(this.spec, { frames: this.frames });
    const data = this.data.subarray(0, this.frames * this.frameBytes);
    const wav = new Uint8Array(head.length + data.length + tail.length);
    wav.set(head);
    wav.set(data, head.length);
    wav.set(tail, head.length + data.length);
    return wav;
  }
}

/** The factor by which the buffer grows. */
const GROWTH = 1.5;
