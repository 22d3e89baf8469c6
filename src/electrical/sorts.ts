/** What each net carries: sound, control volts or gates. */

import type { Signal } from '../modules/definition.ts';
import type { PatchModule } from '../patch/patch.ts';
import type { Net, Netlist } from './nets.ts';

/** `gate`: triggers, clocks and switches; `control`: control volts, pitch among them. */
export type Sort = 'gate' | 'control' | 'audio';

/** The sort of each signal that a jack is made for. */
export const SORT_OF: { readonly [S in Signal]: Sort } = {
  audio: 'audio',
  control: 'control',
  pitch: 'control',
  gate: 'gate',
  switch: 'gate',
};

/**
 * Finds the sort of every net that something drives, except circles that nothing else feeds. A signal
 * keeps its sort through an attenuator, a mixer, an amplifier and the like. The strongest sort is
 * followed first, through all modules that pass it; a net that has a sort already keeps it.
 */
export function carriedSorts(list: Netlist): ReadonlyMap<Net, Sort> {
  const made = new Map<Net, Set<Sort>>();
  const passedTo = new Map<Net, Net[]>();
  for (const net of list.nets)
    for (const { module, jack } of net.outputs) {
      const before = drivenInputs(module, jack.name, list);
      for (const one of before) passedTo.set(one, [...(passedTo.get(one) ?? []), net]);
      if (before.length === 0)
        made.set(net, (made.get(net) ?? new Set<Sort>()).add(SORT_OF[jack.signal]));
    }
  const sorts = new Map<Net, Sort>();
  for (const sort of STRONGEST_FIRST) {
    const left = [...made].filter(([, own]) => own.has(sort)).map(([net]) => net);
    for (let net = left.pop(); net !== undefined; net = left.pop()) {
      if (sorts.has(net)) continue;
      sorts.set(net, sort);
      for (const next of passedTo.get(net) ?? []) left.push(next);
    }
  }
  return sorts;
}

/** Sound takes precedence over control volts, and these over gates. */
const STRONGEST_FIRST = ['audio', 'control', 'gate'] as const;

/** The driven nets at those inputs of a module whose signal the output carries. */
function drivenInputs(module: PatchModule, output: string, list: Netlist): readonly Net[] {
  const { carries, multiplies } = module.definition;
  return (carries?.[output] ?? multiplies?.[output] ?? [])
    .flatMap((name) => list.at({ module: module.name, jack: name }) ?? [])
    .filter(({ outputs }) => outputs.length > 0);
}
