/** The second pass over a variant: its clip, at the loudness that all clips get. */

import { LoopLoudnessMeter } from '../measure/loudness/loop-loudness.ts';
import { TruePeakMeter } from '../measure/loudness/true-peak.ts';
import { gainOfDb } from '../modules/dsp/math.ts';
import type { KindsOption } from '../modules/kinds.ts';
import { type Blocks, heardBlocks, KeptBlocks, writeBlocks } from './heard.ts';
import { pictureOf } from './picture.ts';
import type { WriteTask, WrittenVariant } from './task.ts';

/** Writes a clip at a gain, and measures it. */
export async function writeVariant(task: WriteTask, of: KindsOption = {}): Promise<WrittenVariant> {
  const { depth } = task.play;
  const gain = gainOfDb(task.gainDb);
  const blocks = blocksOf(task, of);
  const { sampleRate, channels, totalFrames } = blocks;
  const loudness = new LoopLoudnessMeter(sampleRate, channels.length);
  const truePeak = new TruePeakMeter(channels.length);
  const first = Math.round(task.window.start * sampleRate);
  const shown = new Float64Array(
    Math.max(1, Math.min(Math.round(task.window.length * sampleRate), totalFrames - first)),
  );
  await writeBlocks(blocks, { ...task, depth }, (block, frames) => {
    for (const channel of block) amplify(channel, frames, gain);
    loudness.add(block, frames);
    truePeak.add(block, frames);
    mixInto(shown, block, frames, blocks.frames - frames - first);
  });
  const integrated = loudness.integrated();
  const peak = truePeak.finish();
  return {
    loudnessLufs: Number.isFinite(integrated) ? integrated : null,
    truePeakDbtp: peak > 0 ? 20 * Math.log10(peak) : null,
    picture: pictureOf(shown, sampleRate, task.pictured),
  };
}

function blocksOf({ kept, sampleRate, heard, play }: WriteTask, of: KindsOption): Blocks {
  return kept === undefined ? heardBlocks(heard, play, of) : new KeptBlocks(kept, sampleRate);
}

/** The sum makes every zero positive, whichever way the samples came. */
function amplify(samples: Float64Array, frames: number, gain: number): void {
  for (let n = 0; n < frames; n++) samples[n] = (samples[n] as number) * gain + 0;
}

/** Adds the mean of the channels to `shown`, in which they start at `offset`. */
function mixInto(
  shown: Float64Array,
  channels: readonly Float64Array[],
  frames: number,
  offset: number,
): void {
  const from = Math.max(0, -offset);
  const to = Math.min(frames, shown.length - offset);
  for (const channel of channels)
    for (let n = from; n < to; n++) {
      shown[offset + n] = (shown[offset + n] as number) + (channel[n] as number) / channels.length;
    }
}
