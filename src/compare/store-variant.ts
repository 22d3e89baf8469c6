/**
 * A variant of a share: measured, and its samples kept in a file unchanged, to be joined with those of other shares.
 */

import { SignalMeter } from '../measure/signal.ts';
import { openWav } from '../wav/wav-file.ts';
import { heardBlocks } from './heard.ts';
import { measuredOf, WANTED } from './measure-variant.ts';
import type { MeasuredVariant, StoreTask } from './task.ts';

/** Plays a variant once and keeps it on disk. @throws what reading, rendering and writing throw. */
export async function storeVariant(task: StoreTask): Promise<MeasuredVariant> {
  const blocks = heardBlocks(task.heard, task.play);
  const { sampleRate, channels, totalFrames: frames } = blocks;
  const meter = new SignalMeter(sampleRate, channels.length, WANTED);
  const wav = await openWav(task.path, {
    sampleRate,
    depth: '64f',
    channels: channels.length,
    title: task.title,
    frames,
  });
  try {
    for (let given = blocks.read(); given > 0; given = blocks.read()) {
      meter.add({ channels: blocks.channels, frames: given });
      wav.write(blocks.channels, given);
    }
    await wav.finish();
  } catch (error) {
    wav.abandon();
    throw error;
  } finally {
    blocks.close();
  }
  return measuredOf(meter, blocks);
}
