/** Which rhythm sequencers take their time from outside, and whose bars a patch is counted in. */

import type { Patch, PatchModule } from '../patch/patch.ts';

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
