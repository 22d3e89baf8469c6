/** The first pass over a variant: its measures, and which hit the pictures are to show. */

import { Loop } from '../engine/loop.ts';
import { SignalMeter } from '../measure/signal.ts';
import type { Patch } from '../patch/patch.ts';
import { summaryOf } from './measures.ts';
import { playedLoop } from './played.ts';
import type { Measured, MeasureTask, Play, Window } from './task.ts';
import { variantPatch } from './variant.ts';

/** What is told of each variant. */
const WANTED = { tempo: false, hitSpectra: false };

/** Plays a variant and measures it. @throws what reading and rendering throw. */
export function measureVariant(task: MeasureTask): Measured {
  const { sampleRate, length } = task.play;
  const patch = variantPatch(task.written, task.set);
  const played = playedLoop(patch, { sampleRate, length }, task.mostKept);
  if (played === undefined) return measureStreamed(patch, task.play);
  const { channels, cut } = played;
  const frames = (channels[0] as Float64Array).length;
  const meter = new SignalMeter(sampleRate, channels.length, WANTED);
  meter.add({ channels, frames });
  return { ...measuredOf(meter, cut), kept: channels };
}

function measureStreamed(patch: Patch, { sampleRate, length }: Play): Measured {
  const loop = new Loop(patch, { sampleRate, length });
  const meter = new SignalMeter(sampleRate, loop.channels.length, WANTED);
  for (let frames = loop.read(); frames > 0; frames = loop.read())
    meter.add({ channels: loop.channels, frames });
  return measuredOf(meter, loop.cut);
}

function measuredOf(meter: SignalMeter, cut: boolean): Measured {
  const measures = meter.finish();
  return {
    measures: summaryOf(measures),
    window: windowOf(measures.onsets, measures.seconds),
    cut,
  };
}

/** Longest picture of a hit, s, and what it shows before it. */
const LONGEST_WINDOW = 2;
const LEAD = 0.005;

/** From the hit that has the most time to itself, to the next. */
function windowOf(onsets: readonly number[], seconds: number): Window {
  let best = { from: onsets[0] ?? 0, gap: 0 };
  onsets.forEach((from, index) => {
    const gap = (onsets[index + 1] ?? seconds) - from;
    // Of hits alike, the first.
    if (gap > best.gap + 1e-3) best = { from, gap };
  });
  const start = Math.max(0, best.from - LEAD);
  const gap = best.gap > 0 ? best.gap : seconds;
  return { start, length: Math.max(0.01, Math.min(gap, LONGEST_WINDOW, seconds - start)) };
}
