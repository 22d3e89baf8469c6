/** A rhythm sequencer as timing reads it: its settings, and whether it takes its time from outside. */

import type { AnyValues, Rate, Span } from '../modules/definition.ts';
import type { Score } from '../modules/score.ts';
import type { Patch, PatchModule } from '../patch/patch.ts';

export interface RhythmSettings extends Score {
  /** Quarter notes a minute. */
  readonly tempo: number;
  /** Share of the pair of steps at which the off-step comes. */
  readonly swing: number;
  /** Probability, 0 to 1. */
  readonly chance: number;
  /** s. */
  readonly flam: number;
  readonly clock: Rate;
  /** What a pulse at `clock-in` is. */
  readonly follows: Rate;
  readonly gate: Span;
  /** V. */
  readonly level: number;
  /** V. */
  readonly 'accent-level': number;
  /** V. */
  readonly 'ghost-level': number;
  /** V. */
  readonly 'grace-level': number;
  readonly 'beats-per-bar': number;
  /** Bars. */
  readonly 'count-in': number;
}

/**
 * Types the setting values of a rhythm module.
 * @param values of a module whose definition has the kind `rhythm`; they are not looked at.
 */
export function rhythmSettings(values: AnyValues): RhythmSettings {
  return values as unknown as RhythmSettings;
}

/** The jack that a clock from outside goes into. */
export const CLOCK_IN = 'clock-in';
/** All that it listens at. */
export const FOLLOWED = [CLOCK_IN, 'run-in', 'reset-in'] as const;

/**
 * Tells whether a rhythm sequencer follows pulses: a plug is in its `clock-in`. A plug that nothing
 * drives counts too, since the jack's switch opens for it: such a rhythm stands.
 */
export function isFollowing(patch: Pick<Patch, 'cables'>, module: PatchModule): boolean {
  return module.definition.role === 'score' && hasPlug(patch, module, CLOCK_IN);
}

/** Whether a plug is in a jack. */
export function hasPlug(
  { cables }: Pick<Patch, 'cables'>,
  { name }: PatchModule,
  jack: string,
): boolean {
  return cables.some(({ from, to }) =>
    [from, to].some((end) => end.module === name && end.jack === jack),
  );
}

/**
 * The rhythm sequencers whose tempo counts: those that keep their own time. Where all follow pulses, only
 * playing tells how fast these come, and each counts as if it went at the tempo that it is set to.
 */
export function tempoLeaders(patch: Patch): readonly PatchModule[] {
  const all = patch.modules.filter(({ definition }) => definition.role === 'score');
  const own = all.filter((module) => !isFollowing(patch, module));
  return own.length > 0 ? own : all;
}
