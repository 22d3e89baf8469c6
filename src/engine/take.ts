/**
 * A take: a patch played for a stated length, block by block. Decides where the performance ends
 * and how long its tail is heard; knows nothing of files.
 */

import { largest } from '../modules/dsp/extremes.ts';
import type { JackRef, Patch } from '../patch/patch.ts';
import { edges } from '../timing/edges.ts';
import { rhythmSettings } from '../timing/settings.ts';
import { barTimes, secondsOfBars, songSeconds } from '../timing/song.ts';
import { BLOCK, type Part, Renderer } from './renderer.ts';
import type { Stem } from './stems.ts';

/** How much is played. */
export type Length =
  /** The song once. */
  | { readonly unit: 'song' }
  | { readonly unit: 'bars'; readonly value: number }
  | { readonly unit: 'seconds'; readonly value: number };

/** What is heard after the last step: a stated time, or until it has died away. */
export type Tail =
  | { readonly unit: 'seconds'; readonly value: number }
  | { readonly unit: 'silence' };

export interface TakeOptions {
  /** Hz. */
  readonly sampleRate: number;
  readonly length: Length;
  readonly tail: Tail;
  readonly probes?: readonly JackRef[];
  readonly stems?: readonly Stem[];
  /** The part of the patch that is played; the whole unless given. */
  readonly part?: Part | undefined;
  /** As for a renderer. */
  readonly passing?: boolean;
}

/** Died away: this far below full scale (-90 dBFS, under the step of a 16-bit file). */
const SILENCE = 0.0000316;
/** ... for this long, s. */
const SILENT_FOR = 0.2;
/** A tail that will not end, such as a patch that drones, is cut here, s. */
export const LONGEST_TAIL = 10;
/** What a patch without a rhythm sequencer plays when no length is asked for, s. */
const WITHOUT_SONG = 4;

export class Take {
  readonly sampleRate: number;
  /** Frames before the tail: the music itself. */
  readonly musicFrames: number;
  /** Frames in all, or undefined while the tail's end is not known. */
  readonly totalFrames: number | undefined;
  /** The frames of the latest block, 1 being full scale; only the first `read()` of them count. */
  readonly channels: readonly Float64Array[];
  /** Volts of the probed jacks. */
  readonly probes: readonly Float64Array[];
  /** For each stem its channels, in the output's scale. */
  readonly stems: readonly (readonly Float64Array[])[];
  /** Frames given so far. */
  frames = 0;
  /** Whether the tail had to be cut while still sounding. */
  cut = false;

  private readonly renderer: Renderer;
  private readonly weights: readonly { volts: Float64Array; gains: readonly number[] }[];
  private readonly silentFrames: number;
  private readonly lastFrame: number;
  private quiet = 0;

  /**
   * @param patch a checked patch with exactly one output module.
   * @throws Error if a probe names no jack of the patch.
   */
  constructor(patch: Patch, options: TakeOptions) {
    const { sampleRate, tail } = options;
    this.sampleRate = sampleRate;
    const seconds = playedSeconds(patch, options.length);
    this.musicFrames = Math.round(seconds * sampleRate);
    this.silentFrames = Math.round(SILENT_FOR * sampleRate);
    this.totalFrames =
      tail.unit === 'seconds' ? this.musicFrames + Math.round(tail.value * sampleRate) : undefined;
    this.lastFrame = this.totalFrames ?? this.musicFrames + Math.round(LONGEST_TAIL * sampleRate);
    const { probes = [], stems = [], part, passing = true } = options;
    this.renderer = new Renderer(patch, {
      sampleRate,
      probes: [...probes, ...stems.map(({ jack }) => jack)],
      ...(part && { part }),
      passing,
      edgesOf: (module) =>
        edges(rhythmSettings(module.settings), {
          sampleRate,
          seed: patch.seed,
          module: module.name,
          until: seconds,
        }),
    });
    this.channels = this.renderer.channels;
    this.probes = this.renderer.probes.slice(0, probes.length);
    this.stems = stems.map(() => this.channels.map(() => new Float64Array(BLOCK)));
    const fullScale = fullScaleOf(patch);
    this.weights = stems.map(({ gains }, index) => ({
      volts: this.renderer.probes[probes.length + index] as Float64Array,
      gains: gains.map((gain) => gain / fullScale),
    }));
  }

  /**
   * Plays the next block.
   * @returns how many frames of it belong to the take; 0 when it is over.
   */
  read(): number {
    if (this.frames >= this.lastFrame) return 0;
    if (this.totalFrames === undefined && this.quiet >= this.silentFrames) return 0;
    this.renderer.next();
    this.mixStems();
    const given = Math.min(BLOCK, this.lastFrame - this.frames);
    if (this.totalFrames === undefined && this.frames + given > this.musicFrames)
      this.listen(given);
    this.frames += given;
    return given;
  }

  private mixStems(): void {
    this.weights.forEach(({ volts, gains }, stem) => {
      this.stems[stem]?.forEach((signal, channel) => {
        const gain = gains[channel] as number;
        for (let i = 0; i < BLOCK; i++) signal[i] = (volts[i] as number) * gain;
      });
    });
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

/** Gives the seconds of music, from the length asked for and the patch's rhythm sequencers. */
export function playedSeconds(patch: Patch, length: Length): number {
  if (length.unit === 'seconds') return length.value;
  const scores = patch.modules.filter(({ definition }) => definition.role === 'score');
  if (scores.length === 0) return WITHOUT_SONG;
  // With several sequencers the clip is as long as the longest.
  return largest(
    scores.map(({ settings }) => {
      const rhythm = rhythmSettings(settings);
      return length.unit === 'bars' ? secondsOfBars(rhythm, length.value) : songSeconds(rhythm);
    }),
  );
}

/**
 * The bars of a patch's first rhythm sequencer.
 * @returns times of the bars that start before `seconds`, s; empty without a sequencer.
 */
export function barsWithin(patch: Patch, seconds: number): number[] {
  const score = patch.modules.find(({ definition }) => definition.role === 'score');
  if (score === undefined) return [];
  const timeOf = barTimes(rhythmSettings(score.settings));
  const times: number[] = [];
  for (let bar = 1, time = timeOf(bar); time < seconds; time = timeOf(++bar)) times.push(time);
  return times;
}

/** Volts of a patch's output that are full scale. */
export function fullScaleOf(patch: Patch): number {
  const output = patch.modules.find(({ definition }) => definition.role === 'output');
  return output?.settings['full-scale'] as number;
}
