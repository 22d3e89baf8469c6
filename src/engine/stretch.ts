/**
 * A stretch of a take, as the take has it: what is before it is played too, since what rings on, what a
 * follower has counted and what was left to chance all come from there, but it is not kept. So memory
 * holds the stretch alone, however far on in a song it lies.
 */

import type { Patch } from '../patch/patch.ts';
import { playedSeconds } from '../timing/length.ts';
import type { Prepared } from './prepared.ts';
import { prepared } from './prepared.ts';
import { Take, type TakeOptions } from './take.ts';

/** Times from the start of the performance, s. */
export interface StretchOptions
  extends Pick<TakeOptions, 'sampleRate' | 'probes' | 'stems' | 'onStep'> {
  readonly from: number;
  readonly to: number;
}

/** Frames of a signal that are to be copied. */
export interface Piece {
  /** Where they are in the latest block. */
  readonly from: number;
  readonly to: number;
  /** Where they go in the stretch. */
  readonly at: number;
}

/** A stretch that is given block by block. */
export class Stretch {
  /** Hz. */
  readonly sampleRate: number;
  readonly musicFrames: number;
  readonly take: Take;
  private readonly first: number;

  /** @throws what a take throws; RangeError unless `to` is after `from`. */
  constructor(of: Patch | Prepared, { from, to, ...options }: StretchOptions) {
    const { sampleRate } = options;
    this.sampleRate = sampleRate;
    this.first = Math.round(from * sampleRate);
    this.musicFrames = Math.round(to * sampleRate) - this.first;
    if (!(this.first >= 0 && this.musicFrames > 0))
      throw new RangeError(`expected an end after the start, got ${from} s to ${to} s`);
    const song = playedSeconds(prepared(of).patch, { unit: 'song' });
    this.take = new Take(of, {
      ...options,
      // As long as the song, since a grace stroke belongs to the stroke after it.
      length: { unit: 'seconds', value: Math.max(song, to) },
      tail: { unit: 'seconds', value: 0 },
    });
  }

  /** Share of the way to the end of the stretch that has been played. */
  get share(): number {
    return Math.min(1, this.take.frames / (this.first + this.musicFrames));
  }

  /** Plays the next block. @returns what of it lies in the stretch; undefined once it is over. */
  read(): Piece | undefined {
    const start = this.take.frames - this.first;
    if (start >= this.musicFrames) return undefined;
    const given = this.take.read();
    if (given === 0) return undefined;
    const from = Math.min(given, Math.max(0, -start));
    const to = Math.max(from, Math.min(given, this.musicFrames - start));
    return { from, to, at: start + from };
  }
}

/** A stretch that is kept: 8 bytes a sample of each signal. */
export class KeptStretch {
  readonly musicFrames: number;
  /** The stretch so far; whole once `isWhole`. */
  readonly channels: readonly Float64Array[];
  readonly probes: readonly Float64Array[];
  readonly stems: readonly (readonly Float64Array[])[];
  isWhole = false;
  /** Frames of it that are there. */
  frames = 0;
  private readonly stretch: Stretch;
  private readonly tracks: readonly {
    readonly block: Float64Array;
    readonly samples: Float64Array;
  }[];

  constructor(stretch: Stretch) {
    this.stretch = stretch;
    const { take, musicFrames } = stretch;
    this.musicFrames = musicFrames;
    const room = (): Float64Array => new Float64Array(musicFrames);
    this.channels = take.channels.map(room);
    this.probes = take.probes.map(room);
    this.stems = take.stems.map((stem) => stem.map(room));
    const blocks = [...take.channels, ...take.probes, ...take.stems.flat()];
    const kept = [...this.channels, ...this.probes, ...this.stems.flat()];
    this.tracks = blocks.map((block, index) => ({ block, samples: kept[index] as Float64Array }));
  }

  get share(): number {
    return this.stretch.share;
  }

  /** Plays the next block. */
  playOn(): void {
    const piece = this.stretch.read();
    if (piece === undefined) {
      this.isWhole = true;
      return;
    }
    const { from, to, at } = piece;
    if (to === from) return;
    for (const { block, samples } of this.tracks) samples.set(block.subarray(from, to), at);
    this.frames = at + to - from;
    this.isWhole = this.frames >= this.musicFrames;
  }
}
