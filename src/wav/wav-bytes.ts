/** A WAV file in memory. Uses nothing of Node. */

import { type WavSpec, wavParts } from './wav-format.ts';
import { Packer, SAMPLE_BYTES } from './wav-pack.ts';

/**
 * Makes the bytes of a WAV file: those that `openWav` writes of the same samples.
 * @param channels one array a channel, all of one length, 1.0 being full scale. Samples beyond it are
 *   limited at 16 and 24 bits.
 * @param spec the rest of what the file says. 16 bits are dithered, the same each time.
 * @returns bytes of the caller's own.
 * @throws RangeError if there is no channel, or their lengths differ; Error if a sample is not a finite
 *   number, or the sample rate or a cue is not a whole number in the format's range.
 */
export async function wavBytes(
  channels: readonly Float64Array[],
  spec: Omit<WavSpec, 'channels'>,
): Promise<Uint8Array<ArrayBuffer>> {
  const frames = channels[0]?.length;
  if (frames === undefined) throw new RangeError('a WAV file has one channel at least');
  if (channels.some(({ length }) => length !== frames))
    throw new RangeError(
      `the channels have different lengths: ${channels.map(({ length }) => length).join(', ')}`,
    );
  const { depth } = spec;
  const { head, tail } = await wavParts({ ...spec, channels: channels.length }, { frames });
  const size = frames * channels.length * SAMPLE_BYTES[depth];
  const wav = new Uint8Array(head.length + size + tail.length);
  wav.set(head);
  new Packer(channels.length, depth, true).pack(channels, 0, frames, wav, head.length);
  wav.set(tail, head.length + size);
  return wav;
}
