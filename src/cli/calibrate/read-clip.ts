/** A recording at a position of a dial, read whole: one channel of it. */

import { InputError } from '../../files/inputs.ts';
import type { MonoClip } from '../../measure/dials/reading.ts';
import { counted } from '../../patch/text/counted.ts';
import type { Place } from '../../patch/text/place.ts';
import { quoted, type Report } from '../../patch/text/report.ts';
import { WavFile } from '../../wav/read-wav.ts';
import { WavError } from '../../wav/wav-header.ts';

/** s: a longer recording adds nothing. */
const MOST_SECONDS = 180;
/** Hz: a lower rate holds too little of a sound to measure. */
const LEAST_RATE = 8000;

/**
 * Reads a clip that a dial file names.
 * @param channel counted from 1; undefined where the recording must have only one.
 * @returns undefined where it cannot be read, which is reported at its place in the dial file.
 */
export function readClip(
  path: string,
  channel: number | undefined,
  place: Place,
  report: Report,
): MonoClip | undefined {
  const fault = (message: string, expected?: string): undefined => {
    report.add('recording', place, message, { expected });
  };
  try {
    const wav = new WavFile(path);
    try {
      const { channels, sampleRate } = wav;
      if (channel === undefined ? channels > 1 : channel > channels)
        return fault(
          `${path} has ${counted(channels, 'channel')}`,
          channel === undefined
            ? 'one channel, or which of them it is, such as channel: 1'
            : `a channel from 1 to ${channels}`,
        );
      if (sampleRate < LEAST_RATE)
        return fault(`${path} has ${sampleRate} samples a second`, `${LEAST_RATE} Hz at least`);
      const most = Math.min(wav.layout.frames, MOST_SECONDS * sampleRate);
      const samples = new Float64Array(most);
      let at = 0;
      for (const block of wav.blocks) {
        const count = Math.min(block.frames, most - at);
        const heard = block.channels[(channel ?? 1) - 1] as Float64Array;
        samples.set(heard.subarray(0, count), at);
        at += count;
        if (at >= most) break;
      }
      return { sampleRate, samples };
    } finally {
      wav.close();
    }
  } catch (error) {
    return fault(whyUnread(path, error), 'a WAV file: 8 to 32 bits or float');
  }
}

/** @throws the error itself if it is a mistake of ours. */
function whyUnread(path: string, error: unknown): string {
  if (error instanceof InputError) return `${path} ${error.reason}`;
  if (error instanceof WavError || error instanceof RangeError)
    return error.message.startsWith(path)
      ? error.message.replace(/\.$/, '')
      : `${path}: ${error.message.replace(/\.$/, '')}`;
  const { code, message } = error as NodeJS.ErrnoException;
  if (code === undefined) throw error;
  return code === 'ENOENT' || code === 'ENOTDIR'
    ? `there is no file ${quoted(path)}`
    : `${path} could not be read: ${message}`;
}
