/**
 * A variant of a share: measured, and its samples kept in a file unchanged, to be joined with those of other shares.
 */

import { SignalMeter } from '../measure/signal.ts';
import type { KindsOption } from '../modules/kinds.ts';
import { heardBlocks, writeBlocks } from './heard.ts';
import { measuredOf, WANTED } from './measure-variant.ts';
import type { MeasuredVariant, StoreTask } from './task.ts';

/** Plays a variant once and keeps it on disk. @throws what reading, rendering and writing throw. */
export async function storeVariant(
  task: StoreTask,
  of: KindsOption = {},
): Promise<MeasuredVariant> {
  const blocks = heardBlocks(task.heard, task.play, of);
  const { sampleRate, channels } = blocks;
  const meter = new SignalMeter(sampleRate, channels.length, WANTED);
  await writeBlocks(blocks, { ...task, depth: '64f' }, (block, frames) =>
    meter.add({ channels: block, frames }),
  );
  return measuredOf(meter, blocks, task.heard);
}
