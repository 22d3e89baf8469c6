/** The measures of a WAV file, with what it suffers from: the same for every command that looks for its hits. */

import { setImmediate } from 'node:timers/promises';
import { type Defect, defectsOf } from '../../measure/defects.ts';
import { EventMeter, type WantedMeasures } from '../../measure/hits/events.ts';
import type { Mends } from '../../measure/mended.ts';
import { mendedMeasures } from '../../measure/mended-measures.ts';
import type { SampleBlock } from '../../measure/samples.ts';
import { type Measures, SignalMeter } from '../../measure/signal.ts';
import { WavFile } from '../../wav/read-wav.ts';
import { steppedBits, type WavLayout } from '../../wav/wav-header.ts';
import { Progress } from '../progress.ts';
import { overallApart } from './overall-apart.ts';

export interface MeasuredFile {
  readonly file: string;
  readonly layout: WavLayout;
  /** Of the hits those without drift and hum, where these could be taken out. */
  readonly measures: Measures;
  /** Drift and hum that were taken out before the hits were measured. */
  readonly mends: Mends | undefined;
  readonly defects: readonly Defect[];
}

interface Options extends Partial<WantedMeasures> {
  /** Whether no progress is shown. */
  readonly isQuiet: boolean;
}

/** Samples from which on a second thread saves more time than its start costs. */
const WORTH_A_THREAD = 2_000_000;

/**
 * Measures a file.
 * @throws what reading it throws; Error naming the frame if a sample is not a finite number.
 */
export async function measuredFile(
  file: string,
  { isQuiet, ...wanted }: Options,
): Promise<MeasuredFile> {
  const wav = new WavFile(file);
  const progress = new Progress(`Measuring ${file}`, isQuiet);
  try {
    const { layout } = wav;
    const blocks = shown(wav, progress);
    const first = isLong(wav)
      ? await measuredByTwo(file, wav, blocks, wanted)
      : await measuredAtOnce(wav, blocks, wanted);
    const { measures, mends } = mendedMeasures(first, () => wav.blocks, wanted);
    return {
      file,
      layout,
      measures,
      mends,
      defects: defectsOf(measures, steppedBits(layout), mends),
    };
  } finally {
    progress.end();
    wav.close();
  }
}

function isLong({ channels, layout }: WavFile): boolean {
  return channels * layout.frames > WORTH_A_THREAD;
}

async function measuredAtOnce(
  { sampleRate, channels, weights }: WavFile,
  blocks: AsyncIterable<SampleBlock>,
  wanted: Partial<WantedMeasures>,
): Promise<Measures> {
  const meter = new SignalMeter(sampleRate, channels, { ...wanted, weights });
  for await (const block of blocks) meter.add(block);
  return meter.finish();
}

/** The hits take about as long as everything else, so each half has a thread. */
async function measuredByTwo(
  file: string,
  { sampleRate, channels }: WavFile,
  blocks: AsyncIterable<SampleBlock>,
  wanted: Partial<WantedMeasures>,
): Promise<Measures> {
  const overall = overallApart(file);
  try {
    const meter = new EventMeter(sampleRate, channels, wanted);
    for await (const block of blocks) meter.add(block);
    const events = meter.finish();
    return { ...(await overall.figures), ...events };
  } finally {
    overall.stop();
  }
}

/** A file's blocks; the progress bar is drawn now and then between them. */
async function* shown(wav: WavFile, progress: Progress): AsyncGenerator<SampleBlock> {
  const { sampleRate, layout } = wav;
  let frames = 0;
  let count = 0;
  for (const block of wav.blocks) {
    yield block;
    frames += block.frames;
    if (++count % 32 !== 0) continue;
    progress.show(frames / sampleRate, layout.frames / sampleRate);
    await setImmediate();
  }
}
