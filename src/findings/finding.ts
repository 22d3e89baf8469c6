/** What will go wrong with a patch, as data, and what a rule is. */

import type { NetLevels } from '../electrical/levels.ts';
import type { Net, Netlist } from '../electrical/nets.ts';
import type { Edit } from '../patch/edit/edit.ts';
import type { JackRef, Patch } from '../patch/patch.ts';
import type { Place } from '../patch/text/place.ts';
import type { Listener, Rehearsal } from './rehearsal.ts';
import type { PlayedEnvelope } from './triggers/envelopes.ts';
import type { Triggers } from './triggers/triggers.ts';

/**
 * `fault`: it will not do what the patch says. `caution`: it may not, or it may harm gear or hearing.
 * `note`: worth knowing.
 */
export type Severity = 'fault' | 'caution' | 'note';

/** The worst first. */
export const SEVERITIES: readonly Severity[] = ['fault', 'caution', 'note'];

/** The rules there are; each is a file of `rules`, or `triggers/stays-on`. */
export type RuleName =
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
  | 'input-open'
  | 'jack-doubled'
  | 'lengths-drift'
  | 'level-marginal'
  | 'level-too-high'
  | 'level-too-low'
  | 'loaded-down'
  | 'loop-unstable'
  | 'nothing-reaches-output'
  | 'outputs-joined'
  | 'peak-not-reached'
  | 'pulse-too-short'
  | 'rack-short'
  | 'reset-race'
  | 'signal-mismatch'
  | 'stays-on'
  | 'swing-mismatch'
  | 'switch-into-voltage'
  | 'tail-cut'
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
  /** The numbers behind it; a name ends in its unit: `highVolts`, `widthSeconds`. */
  readonly figures: Readonly<Record<string, number | string>>;
}

/** One rule; one file each. */
export interface Rule {
  /** The name that reports carry, such as `level-too-low`. */
  readonly name: RuleName;
  /** For `check --explain`: what it is, why it happens, the sum behind it, how to mend it. */
  readonly explanation: Explanation;
  find(context: Context): readonly Finding[];
  /**
   * What to change in the file so that the finding is gone, for `check --fix`; undefined where only
   * a person can say what was meant.
   */
  readonly mend?: (finding: Finding, context: Context) => readonly Edit[] | undefined;
}

export interface Explanation {
  readonly what: string;
  readonly why: string;
  /** The formula, with its source where it has one. */
  readonly sum: string;
  readonly mend: string;
}

/** What rules look at; worked out once for all of them by `contextOf`. */
export interface Context {
  readonly patch: Patch;
  readonly netlist: Netlist;
  /** Volts and margins of every net of the netlist, at `tolerance`. */
  readonly levels: ReadonlyMap<Net, NetLevels>;
  /** Share by which every resistance, level and threshold may be off: 0.05 for 5 %; 0 unless asked. */
  readonly tolerance: number;
  /** What arrives at the trigger inputs. */
  readonly triggers: Triggers;
  /** The beginning of the render, played once for all rules; undefined where it cannot be played. */
  rehearsal(): Rehearsal | undefined;
  /** Listens to a render for the rules, which then need no rehearsal of their own. */
  listener(): Listener;
  /** The envelopes that get a trigger and nothing cuts off, with their courses. */
  envelopes(): readonly PlayedEnvelope[];
}
