/** The settings of a module of kind `rhythm`, as timing reads them. */

import type { AnyValues, Rate, Span } from '../modules/definition.ts';
import type { Score } from '../modules/score.ts';

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
