/** What counts clocks: step sequencers and dividers. */

import { StepCounter } from '../circuits/dsp/step-counter.ts';
import type { PatchModule } from '../patch/patch.ts';

/** A counter of clocks. */
export interface Follower {
  /** Takes the edges of a sample; gives where it then stands, from 1, if it moved. */
  take(clock: boolean, reset: boolean): number | undefined;
}

/** Kinds that count the clocks they notice. */
export function isFollower(module: PatchModule): boolean {
  return followerLength(module) !== undefined;
}

/** Gives the clocks after which a follower starts again; undefined for what is no follower. */
export function followerLength({ definition, settings }: PatchModule): number | undefined {
  return definition.counts?.(settings);
}

/** Gives a counter set as the module's; undefined for what is no follower. */
export function followerOf(module: PatchModule): Follower | undefined {
  const length = followerLength(module);
  if (length === undefined) return undefined;
  // A divider's first clock after a reset is number one, as an armed sequencer's is step 1.
  const { reset = 'armed' } = module.settings as { reset?: 'armed' | 'now' };
  const counter = new StepCounter(length, reset === 'now');
  return {
    take: (clock, resets) => (counter.take(clock, resets) ? counter.step + 1 : undefined),
  };
}
