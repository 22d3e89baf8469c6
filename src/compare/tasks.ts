/** The work that is done in parallel. Tasks and results are plain data, so that they can go to a worker. */

import { Loop } from '../engine/loop.ts';
import type { Length } from '../engine/take.ts';
import { envelope } from '../measure/envelope.ts';
import { LongTermSpectrumMeter } from '../measure/long-term-spectrum.ts';
import { LoudnessMeter } from '../measure/loudness.ts';
import { SignalMeter } from '../measure/signal.ts';
import { quantileHz } from '../measure/spectrum.ts';
import { TruePeakMeter } from '../measure/true-peak.ts';
import { gainOfDb } from '../modules/dsp/math.ts';
import { type Spectrogram, spectrogram } from '../output/chart-spectrogram.ts';
import { WavFile } from '../output/read-wav.ts';
import { openWav } from '../output/wav-file.ts';
import type { Depth } from '../output/wav-pack.ts';
import type { Patch } from '../patch/patch.ts';
import { summaryOf, type VariantMeasures } from './measures.ts';
import { type Kept, playedLoop } from './played.ts';
import { readVariant, type WrittenPatch } from './variant.ts';

/** What all variants have in common. */
export interface Play {
  readonly written: WrittenPatch;
  /** Hz. */
  readonly sampleRate: number;
  readonly depth: Depth;
  readonly length: Length;
}

/** A stretch of the clip, s: the hit that the pictures show. */
export interface Window {
  readonly start: number;
  readonly length: number;
}

export type Task = MeasureTask | WriteTask | NullTask;
export type Result = { measure: Measured; write: Written; null: Nulled };

interface MeasureTask {
  readonly type: 'measure';
  readonly play: Play;
  readonly set: readonly string[];
  /** How many bytes of samples may be kept for the task that writes them. */
  readonly mostKept: number;
}

export interface Measured {
  readonly measures: VariantMeasures;
  readonly window: Window;
  /** Whether the tail did not die away. */
  readonly cut: boolean;
  /** The samples, where they were few enough. */
  readonly kept?: Kept;
}

interface WriteTask {
  readonly type: 'write';
  readonly play: Play;
  readonly set: readonly string[];
  readonly path: string;
  readonly title: string;
  readonly gainDb: number;
  /** What the clip's loudness must come to, LUFS; null for silence. */
  readonly targetLufs: number | null;
  /** dBTP. */
  readonly ceiling: number;
  readonly window: Window;
  /** Whether a spectrogram is wanted. */
  readonly pictured: boolean;
  /** The samples; without them the variant is played again. */
  readonly kept?: Kept;
}

export interface Written {
  /** The gain used: the one asked for, or a little beside it. */
  readonly gainDb: number;
  /** Of the samples written; null for silence. */
  readonly loudnessLufs: number | null;
  readonly truePeakDbtp: number | null;
  readonly picture: Picture;
}

/** The window, as the charts show it. */
export interface Picture {
  /** dB under full scale, rms; null for silence. */
  readonly envelopeDb: readonly (number | null)[];
  /** s from the window's start, and between points. */
  readonly envelopeStart: number;
  readonly envelopeStep: number;
  readonly spectrogram?: Spectrogram;
}

interface NullTask {
  readonly type: 'null';
  /** The first is nulled against each of the others. */
  readonly files: readonly string[];
}

export interface Nulled {
  /** Level of the difference, dB under the level of the two; null where nothing is left. */
  readonly differencesDb: readonly (number | null)[];
}

/** Runs a task. @throws what reading, rendering and writing throw. */
export async function runTask(task: Task): Promise<Result[Task['type']]> {
  if (task.type === 'measure') return measure(task);
  if (task.type === 'write') return write(task);
  return nullEach(task);
}

function patchOf({ play, set }: { play: Play; set: readonly string[] }): Patch {
  const { patch, problems } = readVariant(play.written, set);
  if (patch !== undefined) return patch;
  throw new Error(`${set.join(', ')}: ${problems.map(({ message }) => message).join('; ')}`);
}

/** What is told of each variant. */
const WANTED = { tempo: false, hitSpectra: false };

function measure(task: MeasureTask): Measured {
  const { sampleRate, length } = task.play;
  const patch = patchOf(task);
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

/** Loudness may be this far off before the clip is written again, LU. */
const CLOSE = 0.02;
/** ... which settles at once, or never. */
const TRIES = 3;

/**
 * Writes a clip at a gain. The absolute gate of loudness does not move with the gain, so a very quiet
 * clip can come out a little off; then the gain is mended, if the ceiling allows.
 */
async function write(task: WriteTask): Promise<Written> {
  const play = playerOf(task);
  let { gainDb } = task;
  for (let tries = 1; ; tries++) {
    const written = await writeOnce(play(), task, gainDb);
    const { loudnessLufs, truePeakDbtp } = written;
    if (task.targetLufs === null || loudnessLufs === null || truePeakDbtp === null) return written;
    const off = task.targetLufs - loudnessLufs;
    if (Math.abs(off) <= CLOSE || tries === TRIES || truePeakDbtp + off > task.ceiling) {
      return written;
    }
    gainDb += off;
  }
}

/** The samples block by block, as often as they are asked for. */
function playerOf(task: WriteTask): () => Blocks {
  const { kept } = task;
  if (kept !== undefined) return () => new KeptBlocks(kept);
  const { sampleRate, length } = task.play;
  const patch = patchOf(task);
  return () => new Loop(patch, { sampleRate, length });
}

/** What a loop is to those who listen to it. */
type Blocks = Pick<Loop, 'channels' | 'frames' | 'totalFrames' | 'read'>;

const BLOCK = 4096;

class KeptBlocks implements Blocks {
  readonly totalFrames: number;
  readonly channels: readonly Float64Array[];
  frames = 0;

  private readonly kept: Kept;

  constructor(kept: Kept) {
    this.kept = kept;
    this.totalFrames = (kept[0] as Float64Array).length;
    this.channels = kept.map(() => new Float64Array(BLOCK));
  }

  read(): number {
    const { frames, kept } = this;
    const count = Math.min(BLOCK, this.totalFrames - frames);
    this.channels.forEach((channel, c) => {
      channel.set((kept[c] as Float64Array).subarray(frames, frames + count));
    });
    this.frames += count;
    return count;
  }
}

async function writeOnce(blocks: Blocks, task: WriteTask, gainDb: number): Promise<Written> {
  const { sampleRate, depth } = task.play;
  const gain = gainOfDb(gainDb);
  const { channels, totalFrames } = blocks;
  const loudness = new LoudnessMeter(sampleRate, channels.length);
  const truePeak = new TruePeakMeter(channels.length);
  const first = Math.round(task.window.start * sampleRate);
  const shown = new Float64Array(
    Math.max(1, Math.min(Math.round(task.window.length * sampleRate), totalFrames - first)),
  );
  const wav = await openWav(task.path, {
    sampleRate,
    depth,
    channels: channels.length,
    title: task.title,
    frames: totalFrames,
  });
  try {
    for (let frames = blocks.read(); frames > 0; frames = blocks.read()) {
      for (const channel of channels) amplify(channel, frames, gain);
      wav.write(channels, frames);
      loudness.add(channels, frames);
      truePeak.add(channels, frames);
      mixInto(shown, channels, frames, blocks.frames - frames - first);
    }
    await wav.finish();
  } catch (error) {
    wav.abandon();
    throw error;
  }
  const integrated = loudness.integrated();
  const peak = truePeak.finish();
  return {
    gainDb,
    loudnessLufs: Number.isFinite(integrated) ? integrated : null,
    truePeakDbtp: peak > 0 ? 20 * Math.log10(peak) : null,
    picture: pictureOf(shown, sampleRate, task.pictured),
  };
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

/** Points of an envelope's line, and pixels of a spectrogram: what a printed chart can show. */
const POINTS = 320;
const PIXELS = { columns: 120, rows: 72 };
/** A level is smoothed over two periods of the slowest wave that counts, within these bounds, s. */
const SMOOTHING = { least: 0.004, most: 0.05 };
/** What lies under the slowest wave that counts, as a share of the power, and under any sound, Hz. */
const LOW_SHARE = 0.1;
const LOWEST_HZ = 15;

function pictureOf(samples: Float64Array, sampleRate: number, isPictured: boolean): Picture {
  const meter = new LongTermSpectrumMeter(sampleRate, 1);
  meter.add([samples], samples.length);
  const lowHz = quantileHz(meter.finish().strips, LOW_SHARE, LOWEST_HZ) ?? 1000;
  const window = Math.min(SMOOTHING.most, Math.max(SMOOTHING.least, 2 / lowHz));
  // Silence in front, so that the level is known from the first sample on.
  const lead = Math.round((window * sampleRate) / 2);
  const padded = new Float64Array(lead + samples.length);
  padded.set(samples, lead);
  const { power, step, start } = envelope(padded, {
    from: 0,
    to: padded.length,
    sampleRate,
    window,
  });
  const stride = Math.max(1, Math.ceil(power.length / POINTS));
  const kept = Array.from(
    { length: Math.ceil(power.length / stride) },
    (_, index) => power[index * stride] as number,
  );
  return {
    envelopeDb: kept.map((value) =>
      value > 0 ? Math.round(1000 * Math.log10(value)) / 100 : null,
    ),
    envelopeStart: start - lead / sampleRate,
    envelopeStep: step * stride,
    ...(isPictured && { spectrogram: spectrogram(samples, sampleRate, PIXELS) }),
  };
}

function nullEach({ files: [first, ...others] }: NullTask): Nulled {
  const one = samplesOf(first as string);
  return { differencesDb: others.map((other) => differenceDb(one, other)) };
}

function samplesOf(path: string): readonly Float64Array[] {
  const file = new WavFile(path);
  try {
    const samples = Array.from(
      { length: file.channels },
      () => new Float64Array(file.layout.frames),
    );
    let at = 0;
    for (const { channels, frames } of file.blocks) {
      samples.forEach((all, c) => {
        all.set((channels[c] as Float64Array).subarray(0, frames), at);
      });
      at += frames;
    }
    return samples;
  } finally {
    file.close();
  }
}

/**
 * Subtracts one clip from another, sample by sample, and compares what is left with what there was:
 * 10 log10(sum (a - b)^2 / ((sum a^2 + sum b^2) / 2)). Two unrelated sounds give +3 dB, two that
 * differ by a gain of 0.1 dB give -39 dB. The shorter one is followed by silence.
 */
function differenceDb(one: readonly Float64Array[], path: string): number | null {
  const other = samplesOf(path);
  let left = 0;
  let whole = 0;
  for (let c = 0; c < Math.max(one.length, other.length); c++) {
    // A mono clip is heard on both sides.
    const a = one[Math.min(c, one.length - 1)] as Float64Array;
    const b = other[Math.min(c, other.length - 1)] as Float64Array;
    for (let n = 0; n < Math.max(a.length, b.length); n++) {
      const x = a[n] ?? 0;
      const y = b[n] ?? 0;
      left += (x - y) * (x - y);
      whole += x * x + y * y;
    }
  }
  return left > 0 ? 10 * Math.log10(left / (whole / 2)) : null;
}
