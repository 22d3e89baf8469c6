/** The inputs at which modules that count clocks get them: sequencers, dividers, rhythms that follow pulses. */

import { isFollower } from '../../engine/followers.ts';
import type { Rate } from '../../modules/definition.ts';
import type { JackRef, Patch, PatchModule } from '../../patch/patch.ts';
import { CLOCK_IN, isFollowing } from '../../timing/rhythm.ts';

export interface ClockInputs {
  readonly clock: JackRef;
  readonly reset: JackRef;
  /** Whether a reset waits for the next clock. */
  readonly isArmed: boolean;
  /** What it takes a clock to be; undefined where nobody says. */
  readonly expects: Rate | undefined;
}

/** Gives the clock and the reset of a module that goes by clocks; undefined for any other. */
export function clockInputs(patch: Patch, module: PatchModule): ClockInputs | undefined {
  const { name, settings, settingPlaces } = module;
  if (isFollowing(patch, module))
    return {
      clock: { module: name, jack: CLOCK_IN },
      reset: { module: name, jack: 'reset-in' },
      isArmed: true,
      expects: settings.follows as Rate,
    };
  if (!isFollower(module) && typeof settings.settle !== 'number') return undefined;
  if (module.definition.role === 'score') return undefined;
  return {
    clock: { module: name, jack: 'clock' },
    reset: { module: name, jack: 'reset' },
    isArmed: settings.reset === 'armed',
    expects: settingPlaces.has('expects') ? (settings.expects as Rate) : undefined,
  };
}
