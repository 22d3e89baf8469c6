/**
 * A loop: a take that repeats without a seam, because what rings on after its end is added to its
 * beginning. It is played twice, once to hear the tail and once to give the music, so that memory
 * holds the tail alone however long the loop is.
 */

import type { Patch } from '../patch/patch.ts';
import { Take, type TakeOptions } from './take.ts';

export class Loop {
  readonly sampleRate: number;
  readonly musicFrames: number;
  readonly totalFrames: number;
  readonly channels: readonly Float64Array[];
  /** Volts of the probed jacks, as they were the first time round: no tails are added to these. */
  readonly probes: readonly Float64Array[];
  readonly stems: readonly (readonly Float64Array[])[];
  frames = 0;
  readonly cut: boolean;

  private readonly take: Take;
  /** The channels, then the stems' channels. */
  private readonly signals: readonly Float64Array[];
  /** For each signal, what is to be added to the head. */
  private readonly tails: readonly Float64Array[];

  /** @param options as for a take; its tail is what goes round to the head, whatever they say. */
  constructor(played: Patch, options: Omit<TakeOptions, 'tail'>) {
    const patch = withoutCountIn(played);
    const first = new Take(patch, { ...options, probes: [], tail: { unit: 'silence' } });
    this.tails = tailsOf(first);
    this.cut = first.cut;
    this.take = new Take(patch, { ...options, tail: { unit: 'seconds', value: 0 } });
    this.sampleRate = this.take.sampleRate;
    this.musicFrames = this.take.musicFrames;
    this.totalFrames = this.musicFrames;
    this.channels = this.take.channels;
    this.probes = this.take.probes;
    this.stems = this.take.stems;
    this.signals = [...this.channels, ...this.stems.flat()];
  }

  /**
   * Gives the next block.
   * @returns how many frames of it belong to the loop; 0 when it is over.
   */
  read(): number {
    const start = this.frames;
    const given = this.take.read();
    this.tails.forEach((tail, index) => {
      const signal = this.signals[index] as Float64Array;
      const count = Math.min(given, tail.length - start);
      for (let i = 0; i < count; i++)
        signal[i] = (signal[i] as number) + (tail[start + i] as number);
    });
    this.frames += given;
    return given;
  }
}

/** The patch with no bars before the music: nobody counts in again each time round. */
export function withoutCountIn(patch: Patch): Patch {
  const modules = patch.modules.map((module) =>
    module.definition.role === 'score'
      ? { ...module, settings: { ...module.settings, 'count-in': 0 } }
      : module,
  );
  return { ...patch, modules };
}

/** Plays a take out and folds everything after the music into as many frames as the music has. */
function tailsOf(take: Take): Float64Array[] {
  const { musicFrames, channels, stems } = take;
  const signals = [...channels, ...stems.flat()];
  const tails = signals.map(() => new Float64Array(Math.min(musicFrames, GROWTH)));
  let start = 0;
  for (let given = take.read(); given > 0; given = take.read()) {
    for (let i = Math.max(0, musicFrames - start); i < given; i++) {
      const frame = (start + i - musicFrames) % musicFrames;
      signals.forEach((signal, index) => {
        let tail = tails[index] as Float64Array;
        if (frame >= tail.length) {
          const longer = new Float64Array(Math.min(musicFrames, tail.length + GROWTH));
          longer.set(tail);
          tails[index] = tail = longer;
        }
        tail[frame] = (tail[frame] as number) + (signal[i] as number);
      });
    }
    start += given;
  }
  return tails;
}

/** Frames by which the memory for a tail grows. */
const GROWTH = 65_536;
