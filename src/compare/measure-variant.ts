/** The first pass over a variant: its measures, and which hit the pictures are to show. */

import { mendedMeasures } from '../measure/mended-measures.ts';
import { type Measures, SignalMeter } from '../measure/signal.ts';
import type { KindsOption } from '../modules/kinds.ts';
import { WavFile } from '../wav/read-wav.ts';
import { type HeardBlocks, heardBlocks, heardKept } from './heard.ts';
import { summaryOf } from './measures.ts';
import type { MeasuredVariant, MeasureTask, VariantSource, Window } from './task.ts';

/** Which measures are wanted of each variant, whose page plays it as a loop. */
export const WANTED = { tempo: false, hitSpectra: false, isLoop: true, isToBeLevelled: true };

/** Plays a variant, or reads it, and measures it. @throws what reading and rendering throw. */
export function measureVariant(
  { heard, play, mostKept }: MeasureTask,
  of: KindsOption = {},
): MeasuredVariant {
  const kept = heardKept(heard, play, mostKept, of);
  if (kept === undefined) return measureStreamed(heardBlocks(heard, play, of), heard);
  const { channels, sampleRate } = kept;
  const frames = (channels[0] as Float64Array).length;
  const meter = new SignalMeter(sampleRate, channels.length, WANTED);
  meter.add({ channels, frames });
  return { ...measuredOf(meter, kept, heard), kept: channels };
}

function measureStreamed(blocks: HeardBlocks, heard: VariantSource): MeasuredVariant {
  try {
    const meter = new SignalMeter(blocks.sampleRate, blocks.channels.length, WANTED);
    for (let frames = blocks.read(); frames > 0; frames = blocks.read())
      meter.add({ channels: blocks.channels, frames });
    return measuredOf(meter, blocks, heard);
  } finally {
    blocks.close();
  }
}

/**
 * The measures of a variant whose samples went through a meter. A recording is played as it is, but its hits are
 * measured as `measure` does, without drift and hum.
 */
export function measuredOf(
  meter: SignalMeter,
  { cut, sampleRate, bits }: Pick<HeardBlocks, 'cut' | 'sampleRate' | 'bits'>,
  heard: VariantSource,
): MeasuredVariant {
  const first = meter.finish();
  const { measures, mends } =
    heard.type === 'recording'
      ? mendedFile(first, heard.path)
      : { measures: first, mends: undefined };
  return {
    measures: summaryOf(measures, bits, mends),
    loudnessSteps: meter.loudnessSteps(first),
    window: windowOf(measures.onsets, measures.seconds),
    cut,
    sampleRate,
  };
}

function mendedFile(first: Measures, path: string): ReturnType<typeof mendedMeasures> {
  const file = new WavFile(path);
  try {
    return mendedMeasures(first, () => file.blocks, WANTED);
  } finally {
    file.close();
  }
}

/** Longest picture of a hit, s, and how much it shows before the hit. */
const LONGEST_WINDOW = 2;
const LEAD = 0.005;

/** From the hit that has the most time to itself, to the next. */
function windowOf(onsets: readonly number[], seconds: number): Window {
  let best = { from: onsets[0] ?? 0, gap: 0 };
  onsets.forEach((from, index) => {
    const gap = (onsets[index + 1] ?? seconds) - from;
    // Of hits with as much time, the first.
    if (gap > best.gap + 1e-3) best = { from, gap };
  });
  const start = Math.max(0, best.from - LEAD);
  const gap = best.gap > 0 ? best.gap : seconds;
  return { start, length: Math.max(0.01, Math.min(gap, LONGEST_WINDOW, seconds - start)) };
}
