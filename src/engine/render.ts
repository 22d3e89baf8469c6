/** A patch rendered into memory: all of its samples at once, for callers that do not want them block by block. */

import type { Patch } from '../patch/patch.ts';
import { KeptLoop, takeRound } from './loop.ts';
import type { Prepared } from './prepared.ts';
import { Take, type TakeOptions } from './take.ts';
import { USUAL_RATE } from './usual-rate.ts';

/** As for a take, but for what may be left out. */
export interface RenderOptions extends Partial<Omit<TakeOptions, 'tail' | 'round'>> {
  /** Until it has died away unless given. Of a loop the tail goes round to its head, whatever this says. */
  readonly tail?: TakeOptions['tail'];
  /** Whether it is to repeat without a seam; false unless given. */
  readonly loop?: boolean;
}

/** What was rendered. Its arrays are the caller's: nothing writes into them later. */
export interface Rendering {
  /** Hz. */
  readonly sampleRate: number;
  /** Samples in each array. */
  readonly frames: number;
  /** Those of them before the tail. */
  readonly musicFrames: number;
  /** Left, or left and right, 1.0 being full scale. */
  readonly channels: readonly Float64Array[];
  /** Volts of the jacks asked for, in their order. */
  readonly probes: readonly Float64Array[];
  /** For each stem asked for its channels, in the scale of `channels`. */
  readonly stems: readonly (readonly Float64Array[])[];
  /** Whether the tail was cut while still sounding. */
  readonly cut: boolean;
}

/**
 * Renders a patch: 8 bytes a sample of each array. A long song is better read block by block, from a
 * take or a loop.
 * @param of a checked patch with exactly one output module.
 * @param options 48 kHz, the song once and its tail unless they say otherwise.
 * @throws what a take throws.
 */
export function render(of: Patch | Prepared, options: RenderOptions = {}): Rendering {
  const { loop = false, ...rest } = options;
  const asked: TakeOptions = {
    ...rest,
    sampleRate: rest.sampleRate ?? USUAL_RATE,
    length: rest.length ?? { unit: 'song' },
    tail: rest.tail ?? { unit: 'silence' },
  };
  return loop ? loopOf(takeRound(of, asked)) : takeOf(new Take(of, asked));
}

function loopOf(take: Take): Rendering {
  const kept = new KeptLoop(take);
  while (!kept.isWhole) kept.playOn();
  const { sampleRate, musicFrames, channels, probes, stems, cut } = kept;
  return { sampleRate, frames: musicFrames, musicFrames, channels, probes, stems, cut };
}

function takeOf(playing: Take): Rendering {
  const { channels, probes, stems, sampleRate, musicFrames } = playing;
  const kept = new GatheredBlocks(
    [...channels, ...probes, ...stems.flat()],
    playing.totalFrames ?? musicFrames,
  );
  for (let given = playing.read(); given > 0; given = playing.read())
    kept.add(playing.frames - given, given);
  const [all, { frames, cut }] = [kept.until(playing.frames), playing];
  const taken = all.values();
  const take = (signals: readonly Float64Array[]): Float64Array[] =>
    signals.map(() => taken.next().value as Float64Array);
  return {
    sampleRate,
    frames,
    musicFrames,
    channels: take(channels),
    probes: take(probes),
    stems: stems.map(take),
    cut,
  };
}

/** Samples gathered from blocks, in arrays that grow when a tail lasts longer than there is room for. */
class GatheredBlocks {
  private readonly blocks: readonly Float64Array[];
  private all: readonly Float64Array[];

  constructor(blocks: readonly Float64Array[], room: number) {
    this.blocks = blocks;
    this.all = blocks.map(() => new Float64Array(room));
  }

  add(from: number, count: number): void {
    const end = from + count;
    if (end > (this.all[0]?.length ?? 0)) this.grow(Math.ceil(1.25 * end));
    this.blocks.forEach((block, index) => {
      this.all[index]?.set(block.subarray(0, count), from);
    });
  }

  until(end: number): readonly Float64Array[] {
    return this.all.map((samples) => (samples.length === end ? samples : samples.slice(0, end)));
  }

  private grow(room: number): void {
    this.all = this.all.map((samples) => {
      const longer = new Float64Array(room);
      longer.set(samples);
      return longer;
    });
  }
}
