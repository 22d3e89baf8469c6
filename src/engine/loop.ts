/**
 * Loops: takes that repeat without a seam, because what rings on after the end is added to the
 * beginning. `Loop` plays twice, once to hear the tail and once to give the music, so that memory holds
 * the tail alone however long the loop is. `KeptLoop` plays once and keeps all of it. Both give the same
 * samples.
 */

import type { Patch } from '../patch/patch.ts';
import { FoldedTail } from './folded-tail.ts';
import { Prepared, prepared } from './prepared.ts';
import { type Playing, Take, type TakeOptions } from './take.ts';

/** As for a take; all of its tail goes round to the head. */
export type LoopOptions = Omit<TakeOptions, 'tail' | 'round'>;

/** A loop that is given block by block. */
export class Loop implements Playing {
  readonly sampleRate: number;
  readonly musicFrames: number;
  readonly totalFrames: number;
  readonly channels: readonly Float64Array[];
  /** Volts of the first time round: no tails are added. */
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
   * @throws what a take throws.
   */
  constructor(of: Patch | Prepared, options: LoopOptions) {
    const looped = goingRound(of);
    const first = takeRound(looped, { ...options, probes: [] });
    this.tails = tailsOf(first);
    this.cut = first.cut;
    this.take = new Take(looped, {
      ...options,
      onStep: undefined,
      round: options.length,
      tail: { unit: 'seconds', value: 0 },
    });
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

/** A loop that is kept whole: 8 bytes a sample of each signal. */
export class KeptLoop {
  /** Hz. */
  readonly sampleRate: number;
  /** Of the loop. */
  readonly musicFrames: number;
  /** The loop so far, in the order and the scale of a take; whole once `isWhole`. */
  readonly channels: readonly Float64Array[];
  /** As they were the first time round. */
  readonly probes: readonly Float64Array[];
  readonly stems: readonly (readonly Float64Array[])[];
  isWhole = false;

  /** The frame that is played first. */
  readonly start: number;

  private readonly take: Take;
  private readonly head: Take | undefined;
  private readonly heard: readonly LoopTrack[];
  /** These, and the probes. */
  private readonly tracks: readonly LoopTrack[];

  /**
   * @param take from {@link takeRound}, of which nothing has been read.
   * @param room makes the array of a signal.
   * @param head where `take` does not begin at the start: another take of the patch, of all that comes before.
   */
  constructor(
    take: Take,
    room: (frames: number) => Float64Array = (frames) => new Float64Array(frames),
    head?: Take,
  ) {
    this.take = take;
    this.head = head;
    this.start = take.frames;
    this.sampleRate = take.sampleRate;
    this.musicFrames = take.musicFrames;
    const trackOf = (): LoopTrack => ({
      samples: room(take.musicFrames),
      tail: new FoldedTail(take.musicFrames),
    });
    const channels = take.channels.map(trackOf);
    const stems = take.stems.map((stem) => stem.map(trackOf));
    const probes = take.probes.map(trackOf);
    this.heard = [...channels, ...stems.flat()];
    this.tracks = [...this.heard, ...probes];
    this.channels = channels.map(samplesOf);
    this.probes = probes.map(samplesOf);
    this.stems = stems.map((stem) => stem.map(samplesOf));
  }

  /** Frames of the loop that are there, round from `start`. */
  get done(): number {
    return Math.min(this.take.frames, this.musicFrames) - this.start + (this.head?.frames ?? 0);
  }

  /** Frames of the tail so far. */
  get rung(): number {
    return Math.max(0, this.take.frames - this.musicFrames);
  }

  /** Whether the tail had to be cut while still sounding; known once it is whole. */
  get cut(): boolean {
    return this.take.cut;
  }

  /** Plays the next block, or ends the loop by adding its tail to its head. */
  playOn(): void {
    if (this.keep(this.take) || this.isWhole) return;
    if (this.head !== undefined && this.keep(this.head)) return;
    for (const { samples, tail } of this.heard) tail.addTo(samples);
    this.isWhole = true;
  }

  /** Keeps the next block of a take. @returns false if it is over. */
  private keep(take: Take): boolean {
    const start = take.frames;
    const given = take.read();
    if (given === 0) return false;
    const { musicFrames, tracks, heard } = this;
    const blocks = [...take.channels, ...take.stems.flat(), ...take.probes];
    const music = Math.max(0, Math.min(given, musicFrames - start));
    tracks.forEach(({ samples }, index) => {
      const block = blocks[index] as Float64Array;
      if (music > 0) samples.set(music === block.length ? block : block.subarray(0, music), start);
    });
    heard.forEach(({ tail }, index) => {
      tail.collect(blocks[index] as Float64Array, start, given);
    });
    return true;
  }
}

/** A signal that is kept. */
interface LoopTrack {
  readonly samples: Float64Array;
  readonly tail: FoldedTail;
}

function samplesOf({ samples }: LoopTrack): Float64Array {
  return samples;
}

/** What a loop is made of: a take that goes on until its tail has died away. */
export function takeRound(of: Patch | Prepared, options: LoopOptions): Take {
  return new Take(goingRound(of), {
    ...options,
    round: options.length,
    tail: { unit: 'silence' },
  });
}

/** The patch as it goes round, without a count-in. */
export function goingRound(of: Patch | Prepared): Prepared {
  const all = prepared(of);
  const patch = withoutCountIn(all.patch);
  return patch === all.patch ? all : new Prepared(patch);
}

/** The patch with no bars before the music: nobody counts in again each time round. */
export function withoutCountIn(patch: Patch): Patch {
  const counts = patch.modules.some(
    ({ definition, settings }) => definition.role === 'score' && settings['count-in'] !== 0,
  );
  if (!counts) return patch;
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
