/** Where a stroke that has no rise of its own is missed. */

import type { Train } from './triggers.ts';

/** Kinds that pass a gate on as it is: what is behind them is looked at instead. */
const PASS_ON: readonly string[] = ['comparator', 'logic', 'trigger-converter'];

/** Whether an input does something at each rise, rather than while its trigger is on. */
export function startsAnew({ terminal: { module, jack } }: Train): boolean {
  if (PASS_ON.includes(module.definition.kind) || jack.name === 'cut') return false;
  return !(module.definition.kind === 'sample-hold' && module.settings.mode === 'track');
}
