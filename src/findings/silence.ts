/** Why nothing is heard of a patch. */

import { type Prepared, prepared } from '../engine/prepared.ts';
import type { InputJack } from '../modules/definition.ts';
import type { Patch, PatchModule } from '../patch/patch.ts';
import { pulseContextOf } from './context.ts';

/** Gives the reason in words; call it only where nothing is heard. */
export function silenceOf(of: Patch | Prepared): string {
  const all = prepared(of);
  const { patch, nets } = all;
  const output = patch.modules.find(({ definition }) => definition.role === 'output');
  const isPlugged = output?.jacks.some(
    ({ name: jack }) => (nets.at({ module: output.name, jack })?.outputs.length ?? 0) > 0,
  );
  if (output === undefined || !isPlugged) return 'nothing is plugged into the output';
  const waiting = patch.modules.some((module) =>
    module.jacks.some((jack) => jack.direction === 'in' && isStart(module, jack)),
  );
  const fires = pulseContextOf(all)
    .triggers.all()
    .some(({ terminal: { module, jack }, noticed }) => noticed.length > 0 && isStart(module, jack));
  return waiting && !fires ? 'no trigger fires' : 'nothing comes through to the output';
}

/** Whether a pulse here starts something that is heard, rather than being passed on or counted. */
function isStart({ definition }: PatchModule, { facts, rise = 'starts' }: InputJack): boolean {
  const { gates, counts } = definition;
  const isOnTheWay = gates !== undefined || counts !== undefined;
  return facts.trigger !== undefined && rise === 'starts' && !isOnTheWay;
}
