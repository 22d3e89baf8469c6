/**
 * A loop: a take that repeats without a seam, because what rings on after its end is added to its
 * beginning. It is played twice, once to hear the tail and once to give the music, so that memory
 * holds the tail alone however long the loop is.
 */

import type { Patch } from '../patch/patch.ts';
import { FoldedTail } from './folded-tail.ts';
import { type Playing, Take, type TakeOptions } from './take.ts';

/** A take that repeats without a seam. */
export class Loop implements Playing {
  readonly sampleRate: number;
  readonly musicFrames: number;
  readonly totalFrames: number;
  readonly channels: readonly Float64Array[];
  /** As they were the first time round: no tails are added to these. */
  readonly probes: readonly Float64Array[];
  readonly stems: readonly (readonly Float64Array[])[];
  frames = 0;
  readonly cut: boolean;

  private readonly take: Take;
  /** The channels, then the stems' channels. */
  private readonly signals: readonly Float64Array[];
  /** One a signal. */
  private readonly tails: readonly FoldedTail[];

  /**
   * Plays the patch once, to hear its tail: that takes as long as a take does.
   * @param options as for a take; all of its tail goes round to the head.
   * @throws what a take throws.
   */
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

  read(): number {
    const start = this.frames;
    const given = this.take.read();
    this.tails.forEach((tail, index) => {
      tail.addTo(this.signals[index] as Float64Array, start, given);
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

/** Plays a take out and keeps what lies after the music. */
function tailsOf(take: Take): FoldedTail[] {
  const signals = [...take.channels, ...take.stems.flat()];
  const tails = signals.map(() => new FoldedTail(take.musicFrames));
  for (let given = take.read(); given > 0; given = take.read())
    tails.forEach((tail, index) => {
      tail.collect(signals[index] as Float64Array, take.frames - given, given);
    });
  return tails;
}
