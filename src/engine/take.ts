/**
 * A take: a patch played for a stated length, block by block. Decides where the performance ends
 * and how long its tail is heard; knows nothing of files.
 */

import type { JackRef, Patch } from '../patch/patch.ts';
import { type Length, playedSeconds } from '../timing/length.ts';
import { type Prepared, prepared } from './prepared.ts';
import { BLOCK, type Part, Renderer, type RendererOptions } from './renderer.ts';
import { StemMix } from './stem-mix.ts';
import { jacksOfStem, type Stem } from './stems.ts';

/**
 * What is heard after the last step: so many seconds, 0 or more, or until it has died away (under
 * -90 dBFS for 0.2 s), which takes 10 s at most.
 */
export type Tail =
  | { readonly unit: 'seconds'; readonly value: number }
  | { readonly unit: 'silence' };

/** How a patch is played. */
export interface TakeOptions {
  /** Hz, a whole number from 8000 to 192 000. */
  readonly sampleRate: number;
  readonly length: Length;
  readonly tail: Tail;
  /** The length of the loop that it is, or begins; as for a performance. */
  readonly round?: Length | undefined;
  /** Jacks whose volts are wanted. */
  readonly probes?: readonly JackRef[];
  /** Voices that are wanted by themselves: those of `stemsOf`, or some of them. */
  readonly stems?: readonly Stem[];
  /** The part of the patch that is played; the whole unless given. */
  readonly part?: Part | undefined;
  /** As for a renderer. */
  readonly passing?: boolean;
  /** As for a renderer; of a loop, told the first time round. */
  readonly onStep?: RendererOptions['onStep'] | undefined;
}

/** Died away: this far below full scale (-90 dBFS, under the step of a 16-bit file). */
const SILENCE = 0.0000316;
/** ... for this long, s. */
const SILENT_FOR = 0.2;
/** A tail that will not end, such as a patch that drones, is cut here, s. */
export const LONGEST_TAIL = 10;

/**
 * A patch being played, block by block: what a take and a loop have in common. Its arrays hold one
 * block and are filled again by the next `read`: copy what is to be kept.
 */
export interface Playing {
  /** Hz. */
  readonly sampleRate: number;
  /** Frames before the tail: the music itself. */
  readonly musicFrames: number;
  /** Frames in all, or undefined while the tail's end is not known. */
  readonly totalFrames: number | undefined;
  /** Left, or left and right, 1.0 being full scale; only the first `read()` samples of each count. */
  readonly channels: readonly Float64Array[];
  /** Volts of the probed jacks, one array each, in the order of `TakeOptions.probes`. */
  readonly probes: readonly Float64Array[];
  /** For each stem its channels, in the output's scale. */
  readonly stems: readonly (readonly Float64Array[])[];
  /** Frames given so far. */
  readonly frames: number;
  /** Whether the tail had to be cut while still sounding; known when it is over. */
  readonly cut: boolean;
  /**
   * Plays the next block.
   * @returns how many frames of it count, at most 128; 0 when it is over.
   * @throws Error if a circuit gives a value that is no finite number.
   */
  read(): number;
}

/** A patch played once, from its start to the end of its tail. */
export class Take implements Playing {
  readonly sampleRate: number;
  readonly musicFrames: number;
  readonly totalFrames: number | undefined;
  readonly channels: readonly Float64Array[];
  readonly probes: readonly Float64Array[];
  readonly stems: readonly (readonly Float64Array[])[];
  frames = 0;
  cut = false;

  private readonly renderer: Renderer;
  private readonly mixes: readonly StemMix[];
  private readonly silentFrames: number;
  private readonly lastFrame: number;
  private quiet = 0;

  /**
   * @param of a checked patch with exactly one output module.
   * @throws RangeError if the sample rate, the length or the tail is out of its range; Error if the
   *   patch has no output module, or a probe names no jack of it.
   */
  constructor(of: Patch | Prepared, options: TakeOptions) {
    const { sampleRate, tail } = options;
    const all = prepared(of);
    const { patch } = all;
    requirePlayable(options);
    this.sampleRate = sampleRate;
    const seconds = playedSeconds(patch, options.length);
    this.musicFrames = Math.round(seconds * sampleRate);
    this.silentFrames = Math.round(SILENT_FOR * sampleRate);
    this.totalFrames =
      tail.unit === 'seconds' ? this.musicFrames + Math.round(tail.value * sampleRate) : undefined;
    this.lastFrame = this.totalFrames ?? this.musicFrames + Math.round(LONGEST_TAIL * sampleRate);
    const { probes = [], stems = [], part, passing = true, onStep } = options;
    const round = options.round && playedSeconds(patch, options.round);
    this.renderer = new Renderer(all, {
      sampleRate,
      probes: [...probes, ...stems.flatMap(jacksOfStem)],
      ...(part && { part }),
      passing,
      until: seconds,
      round,
      ...(onStep && { onStep }),
    });
    this.frames = part?.from ?? 0;
    this.channels = this.renderer.channels;
    this.probes = this.renderer.probes.slice(0, probes.length);
    const fullScale = fullScaleOf(patch);
    const taps = this.renderer.probes.slice(probes.length).values();
    this.mixes = stems.map((stem) => new StemMix(stem, taps, this.channels.length, fullScale));
    this.stems = this.mixes.map(({ channels }) => channels);
  }

  read(): number {
    if (this.frames >= this.lastFrame) return 0;
    if (this.totalFrames === undefined && this.quiet >= this.silentFrames) return 0;
    this.renderer.next();
    for (const mix of this.mixes) mix.run(BLOCK);
    const given = Math.min(BLOCK, this.lastFrame - this.frames);
    if (this.totalFrames === undefined && this.frames + given > this.musicFrames)
      this.listen(given);
    this.frames += given;
    return given;
  }

  /** Counts the silent frames at the end of what has been heard of the tail. */
  private listen(given: number): void {
    for (let i = 0; i < given; i++) {
      const silent = this.channels.every((channel) => Math.abs(channel[i] as number) < SILENCE);
      this.quiet = silent ? this.quiet + 1 : 0;
    }
    this.cut = this.frames + given >= this.lastFrame && this.quiet === 0;
  }
}

function requirePlayable({ sampleRate, length, tail }: TakeOptions): void {
  if (!Number.isInteger(sampleRate) || sampleRate < 8000 || sampleRate > 192_000)
    throw new RangeError(
      `a sample rate is a whole number from 8000 to 192000 Hz, not ${sampleRate}`,
    );
  if (length.unit !== 'song' && !(length.value >= 0 && length.value < Number.POSITIVE_INFINITY))
    throw new RangeError(`a length is 0 ${length.unit} or more, not ${length.value}`);
  if (tail.unit === 'seconds' && !(tail.value >= 0 && tail.value < Number.POSITIVE_INFINITY))
    throw new RangeError(`a tail is 0 seconds or more, not ${tail.value}`);
}

/** Volts of a patch's output that are full scale. */
export function fullScaleOf(patch: Patch): number {
  const output = patch.modules.find(({ definition }) => definition.role === 'output');
  return output?.settings['full-scale'] as number;
}
