/** What will go wrong with a patch, as data, and what a rule is. */

import type { Edit } from '../patch/edit/edit.ts';
import type { JackRef, Patch } from '../patch/patch.ts';
import type { Place } from '../patch/text/place.ts';
import type { Outset } from './outset.ts';
import type { WayOut } from './plan/way-out.ts';
import type { Rehearsal } from './rehearsal.ts';
import type { PlayedEnvelope } from './triggers/envelopes.ts';
import type { Triggers } from './triggers/triggers.ts';

/**
 * `fault`: it will not do what the patch says. `caution`: it may not, or it may harm gear or hearing.
 * `note`: worth knowing.
 */
export type Severity = 'fault' | 'caution' | 'note';

/** The worst first. */
export const SEVERITIES: readonly Severity[] = ['fault', 'caution', 'note'];

/** The rules there are; each is a file of `rules`. */
export type RuleName =
  | 'accent-unheard'
  | 'amplifier-never-opens'
  | 'amplifier-overdriven'
  | 'cable-short'
  | 'clips'
  | 'clock-mismatch'
  | 'cutoff-out-of-range'
  | 'dc-on-output'
  | 'decay-cut-short'
  | 'flam-too-tight'
  | 'gates-merge'
  | 'ghost-silent'
  | 'input-open'
  | 'jack-doubled'
  | 'jack-misnamed'
  | 'lengths-drift'
  | 'level-marginal'
  | 'level-too-high'
  | 'level-too-low'
  | 'loaded-down'
  | 'loop-unstable'
  | 'nothing-reaches-output'
  | 'off-the-dial'
  | 'outputs-joined'
  | 'peak-not-reached'
  | 'pulse-too-short'
  | 'rack-short'
  | 'reset-race'
  | 'signal-mismatch'
  | 'slow-rise'
  | 'stays-on'
  | 'swing-mismatch'
  | 'switch-into-voltage'
  | 'tail-cut'
  | 'time-out-of-range'
  | 'too-quiet'
  | 'voltage-into-switch';

/** A forecast: the render bears it out. */
export interface Finding {
  readonly rule: RuleName;
  readonly severity: Severity;
  /** What happens, in a sentence or two, with the numbers and their units. */
  readonly message: string;
  /** What a person can do about it. */
  readonly fix: string;
  /** The cable, setting or module that the finding is about. */
  readonly place: Place;
  readonly jack?: JackRef;
  /** All the jacks that it is about, `jack` first, where there are several. */
  readonly jacks?: readonly JackRef[];
  /**
   * The source or setting behind it, where that may be behind others of the rule as well: these are
   * told as one.
   */
  readonly cause?: string;
  /** Of a rack that is short: the ways out, the cheapest first. */
  readonly ways?: readonly WayOut[];
  /** The numbers behind it; a name ends in its unit, or in what is counted: `highVolts`, `missedHits`. */
  readonly figures: Readonly<Record<string, number | string>>;
}

/** One rule; one file each. */
export interface Rule {
  /** The name that reports carry, such as `level-too-low`. */
  readonly name: RuleName;
  /** What happens in a few words, and to what: the jack, its module or the patch. */
  readonly headline: readonly [of: 'jack' | 'module' | 'patch', what: string];
  /** For `check --explain`: what it is, why it happens, the sum behind it, how to mend it. */
  readonly explanation: Explanation;
  find(context: Context): readonly Finding[];
  /**
   * What to change in the file so that the finding is gone, for `check --fix`; undefined where only
   * a person can say what was meant.
   */
  readonly mend?: (finding: Finding, context: Context) => Mend | undefined;
}

export type Mend = OneMend | MendChoice;

export type OneMend = readonly Edit[] | PlannedMend | BarredMend;

/** Several, the best first: the first of them that can be made, and makes nothing worse, is made. */
export interface MendChoice {
  readonly choice: Iterable<OneMend>;
}

/** Edits that must give one patch and no other. */
export interface PlannedMend {
  readonly edits: readonly Edit[];
  /** That patch, without its rack. */
  readonly becomes: Patch;
}

/** A mend that is known and cannot be made. */
export interface BarredMend {
  /** What is in its way, the beginning of a sentence without a capital and without its stop. */
  readonly why: string;
}

export interface Explanation {
  readonly what: string;
  readonly why: string;
  /** The formula, with its source where it has one. */
  readonly sum: string;
  readonly mend: string;
}

/** What rules look at; worked out once for all of them, in `context`. */
export interface Context extends Outset {
  /** What arrives at the trigger inputs. */
  readonly triggers: Triggers;
  /** The same by `FINE_RATE`, for times that samples at the usual rate are too coarse for. */
  fineTriggers(): Triggers;
  /** What was heard of the render, its beginning at least; undefined where it cannot be played. */
  rehearsal(): Rehearsal | undefined;
  /** The envelopes that get a trigger and nothing cuts off, with their courses. */
  envelopes(): readonly PlayedEnvelope[];
}
