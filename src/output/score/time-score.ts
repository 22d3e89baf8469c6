/**
 * The score of a patch as data: what happens on its wires in lanes against bars and steps, how late each
 * trigger input answers, and where each follower stands. `score-text` and `score-svg` draw it.
 */

import type { Phase } from '../../engine/phases.ts';
import type { Cause } from '../../timing/pulses.ts';
import type { Ruler } from '../../timing/ruler.ts';

export interface TimeScore {
  readonly title: string;
  /** Hz. */
  readonly sampleRate: number;
  /** What was played, s. */
  readonly seconds: number;
  readonly ruler: Ruler;
  readonly bars: readonly Bar[];
  readonly sections: readonly ScoreSection[];
  readonly lanes: readonly Lane[];
  readonly answers: readonly InputAnswer[];
  readonly followers: readonly Standing[];
  readonly meetings: readonly Meeting[];
  /** Where the rhythm that bars are counted by follows pulses: what tempo they made. */
  readonly heard?: HeardTempo;
}

export interface HeardTempo {
  /** The rhythm. */
  readonly name: string;
  readonly pulses: number;
  /** The mean, by which bars and steps are counted; undefined for fewer than two pulses. */
  readonly bpm: number | undefined;
  /** The most that a period was off the mean, as a share of it. */
  readonly uneven: number;
}

export interface Bar {
  /** From 1; a count-in's are under that. */
  readonly number: number;
  /** s; the last ends where the playing does. */
  readonly start: number;
  readonly end: number;
}

/** One playing of a pattern. */
export interface ScoreSection {
  readonly pattern: string;
  /** s. */
  readonly start: number;
  readonly step: number;
  /** Quarter notes a minute. */
  readonly tempo: number;
  readonly swing: number;
  readonly stepsPerQuarter: number;
}

export type Lane =
  | { readonly type: 'gate'; readonly name: string; readonly marks: readonly GateMark[] }
  | { readonly type: 'steps'; readonly name: string; readonly marks: readonly FollowedStep[] }
  | {
      readonly type: 'phases';
      readonly name: string;
      readonly marks: readonly PhaseMark[];
      /** V at the highest. */
      readonly peak: number;
      /** The highest volts of each {@link CURVE_SECONDS}, from the start; empty if not asked for. */
      readonly curve: readonly number[];
    };

/** All times in s. */
export interface GateMark {
  readonly start: number;
  end: number;
  accent: boolean;
  readonly cause: Cause | undefined;
}
export interface FollowedStep {
  readonly start: number;
  readonly position: number;
}
export interface PhaseMark {
  readonly start: number;
  readonly phase: Phase;
}

/** How a trigger input answers what is sent. */
export interface InputAnswer {
  readonly jack: string;
  /** The rhythm's outputs that its triggers come from; none if they come from elsewhere. */
  readonly origins: readonly string[];
  readonly noticed: number;
  /** Pulses of the origins; undefined where something on the way counts or changes them. */
  readonly sent: number | undefined;
  /** s from the pulse's edge; undefined where nothing was noticed or no rhythm is behind it. */
  readonly latency: { readonly least: number; readonly most: number } | undefined;
}

/** Where a follower stands. */
export interface Standing {
  readonly name: string;
  /** Clocks after which it starts again. */
  readonly length: number;
  /** For each bar that is complete, the position of its first clock; undefined without one. */
  readonly atBars: readonly { readonly bar: number; readonly position: number | undefined }[];
  /** Clocks in the song once through and resets in it; undefined if less than that was played. */
  readonly clocks: number | undefined;
  readonly resets: number;
  /** Times through the song, and bars, after which it stands as at the start. */
  readonly meets: { readonly passes: number; readonly bars: number } | undefined;
}

/** Lines of a pattern that drift against it. */
export interface Meeting {
  readonly pattern: string;
  readonly lines: readonly { readonly channel: string; readonly steps: number }[];
  readonly length: number;
  /** After how much all start together again. */
  readonly steps: number;
  readonly bars: number;
}

/** Time that one value of an envelope's curve stands for, s. */
export const CURVE_SECONDS = 0.001;
