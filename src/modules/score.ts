/**
 * What a rhythm sequencer plays: the values of its `channels`, `patterns` and `song` settings, as
 * the patch file gives them once read and checked. `timing` turns them into exact times.
 */

import type { Rate, Span } from './definition.ts';

export interface Score {
  readonly channels: readonly Channel[];
  readonly patterns: readonly Pattern[];
  readonly song: readonly SongEntry[];
}

export interface Channel {
  readonly name: string;
  /** Number of its note in a MIDI file, where the patch gives one. */
  readonly note?: number;
}

/** Settings that may stand on the rhythm module, a pattern or a song entry; the narrowest wins. */
export interface Feel {
  /** Quarter notes a minute. */
  readonly tempo?: number;
  /** Share of the pair of steps at which the off-step comes: 0.5 straight, 2/3 triplet. */
  readonly swing?: number;
  /** Probability of a `?` stroke, 0 to 1. */
  readonly chance?: number;
  /** Spacing of a flam's two strokes, s. */
  readonly flam?: number;
  readonly clock?: Rate;
}

export interface Pattern extends Feel {
  readonly name: string;
  /** Whole number of steps in a quarter note. */
  readonly stepsPerQuarter: number;
  /** Length in steps: that of its longest line unless the pattern says otherwise. */
  readonly length: number;
  /** One a channel at most; a channel without a line rests. Shorter lines repeat. */
  readonly lines: readonly Line[];
}

/** What one channel does in one pattern. */
export interface Line {
  /** Index into `channels`. */
  readonly channel: number;
  readonly steps: readonly Step[];
  /** Gate length, where the line has its own. */
  readonly gate?: Span;
  readonly swing?: number;
}

export interface Step {
  /** Strokes in the step, equally spaced: 0 a rest, 1 a hit, 2-8 a ratchet. */
  readonly strokes: number;
  readonly accent: boolean;
  /** A stroke softer than a plain one; absent for any other. */
  readonly ghost?: true;
  readonly flam: boolean;
  /** Whether the step is left to chance (`?`, or a chance given `at` the step or on the line). */
  readonly maybe: boolean;
  /** What this step overrides; absent where the line, pattern, song or module decides. */
  readonly chance?: number;
  readonly flamSpacing?: number;
  readonly gate?: Span;
}

export interface SongEntry extends Feel {
  /** Index into `patterns`. */
  readonly pattern: number;
  readonly repeats: number;
}
