/**
 * What a survey lists, and how far everything may be off until it no longer holds.
 */

import { triggerLevelsAt } from '../electrical/levels.ts';
import { type Prepared, prepared } from '../engine/prepared.ts';
import { jackNamed, type Patch } from '../patch/patch.ts';
import { pulseContextOf } from './context.ts';
import type { Context } from './finding.ts';
import { inPercent } from './words.ts';

/** One thing to measure at a trigger input. */
export type SurveyPoint = VoltsPoint | TimePoint;

interface AtInput {
  /** The trigger input. */
  readonly jack: string;
  /** The outputs that drive it; several are joined there. */
  readonly drivers: readonly string[];
  /** V at which it fires, and at which it is ready again. */
  readonly on: number;
  readonly off: number;
  /**
   * Share by which every resistance, level, threshold and time may be off before this fails at the worst
   * corner: 0 if it fails as it stands or a hundredth off, undefined if it holds at {@link FARTHEST}.
   */
  readonly holds: number | undefined;
}

/** The volts that an input waits for. As computed, with every part as it should be. */
export interface VoltsPoint extends AtInput {
  readonly measure: 'volts';
  readonly type: 'voltage' | 'switch';
  /** V, idle and when it should fire. */
  readonly idle: number;
  readonly driven: number;
}

/** A time at an input, with every part as it should be. */
export interface TimePoint extends AtInput {
  /** How long the shortest pulse is, from `on` to `off`; or how long after an edge begins it comes to `on`. */
  readonly measure: 'width' | 'lateness';
  /** s */
  readonly time: number;
  /** s; a width is at least as long, and a lateness is less. */
  readonly limit: number;
}

/** A share that no part is off by. */
export const FARTHEST = 0.5;
/** Steps of a share in which it is looked for. */
export const STEPS = 100;

const known = new WeakMap<Prepared, Map<number, Context>>();

/** A patch with everything off by up to so many steps of a share; each is worked out once. */
export function contextWithin(of: Patch | Prepared, step: number): Context {
  const all = prepared(of);
  const contexts = known.get(all) ?? new Map<number, Context>();
  known.set(all, contexts);
  const context = contexts.get(step) ?? pulseContextOf(all, step / STEPS);
  contexts.set(step, context);
  return context;
}

/**
 * How far everything may be off until something fails, by halving.
 * @param from a share at which it is known to hold, if it does at all.
 */
export function holdsUntil(isFine: (step: number) => boolean, from = FARTHEST): number | undefined {
  const most = Math.round(FARTHEST * STEPS);
  let low = Math.round(from * STEPS);
  if (low >= most || isFine(most)) return undefined;
  let high = most;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (isFine(middle)) low = middle;
    else high = middle;
  }
  return low / STEPS;
}

/** How far everything may be off, in words that follow "holds until". */
export function holdsText(holds: number | undefined): string {
  if (holds === undefined) return `over ${inPercent(FARTHEST)} off`;
  return holds === 0 ? 'fails as it is, or 1 % off' : `${inPercent(holds)} off`;
}

/** Whether an input goes on and lets go, with everything off by so many steps of a share. */
export function areVoltsFine(of: Prepared, jack: string, step: number): boolean {
  const { patch, nets } = of;
  const ref = jackNamed(patch, jack);
  const trigger = ref && triggerLevelsAt(ref, patch, nets, step / STEPS);
  return trigger === undefined || (trigger.margin >= 0 && trigger.release >= 0);
}
