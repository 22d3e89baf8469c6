/** Why nothing is heard of a patch. */

import { netlist as netlistOf } from '../electrical/nets.ts';
import type { InputJack } from '../modules/definition.ts';
import type { Patch, PatchModule } from '../patch/patch.ts';
import { contextOf } from './context.ts';

/** Gives the reason in words; call it only where nothing is heard. */
export function silenceOf(patch: Patch): string {
  const output = patch.modules.find(({ definition }) => definition.role === 'output');
  const list = netlistOf(patch);
  const isPlugged = output?.jacks.some(
    ({ name: jack }) => (list.at({ module: output.name, jack })?.outputs.length ?? 0) > 0,
  );
  if (output === undefined || !isPlugged) return 'nothing is plugged into the output';
  const waiting = patch.modules.some((module) =>
    module.jacks.some((jack) => jack.direction === 'in' && isStart(module, jack)),
  );
  const fires = contextOf(patch)
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
