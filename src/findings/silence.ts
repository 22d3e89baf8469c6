/** Why nothing is to be heard of a patch. */

import { netlist as netlistOf } from '../electrical/nets.ts';
import type { Patch } from '../patch/patch.ts';
import { contextOf } from './context.ts';

/** Says it in some words; to be asked only where nothing is heard. */
export function silenceOf(patch: Patch): string {
  const output = patch.modules.find(({ definition }) => definition.role === 'output');
  const list = netlistOf(patch);
  const isPlugged = output?.jacks.some(
    ({ name: jack }) => (list.at({ module: output.name, jack })?.outputs.length ?? 0) > 0,
  );
  if (output === undefined || !isPlugged) return 'nothing is plugged into the output';
  const waiting = patch.modules.some(({ jacks }) =>
    jacks.some((jack) => jack.direction === 'in' && jack.facts.trigger !== undefined),
  );
  const fires = contextOf(patch)
    .triggers.all()
    .some(({ noticed }) => noticed.length > 0);
  return waiting && !fires ? 'no trigger fires' : 'nothing comes through to the output';
}
