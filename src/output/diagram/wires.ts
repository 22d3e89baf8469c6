/** What each cable carries, as diagrams and cable lists tell wires apart. */

import { type Net, type Netlist, netlist } from '../../electrical/nets.ts';
import type { Signal } from '../../modules/definition.ts';
import { type Cable, jackName, type Patch, type PatchModule } from '../../patch/patch.ts';

/** `gate`: triggers, clocks and switches; `control`: control volts, pitch among them. */
export type Sort = 'gate' | 'control' | 'audio';

const SORT_OF: { readonly [S in Signal]: Sort } = {
  audio: 'audio',
  control: 'control',
  pitch: 'control',
  gate: 'gate',
  switch: 'gate',
};

/**
 * Finds the sort of every cable. What passes through an attenuator, a mixer, an amplifier and the like
 * stays what it was; a circle of such counts by its output, a net that nothing drives by its input.
 */
export function wireSorts(patch: Patch): (cable: Cable) => Sort {
  const list = netlist(patch);
  const known = new Map<Net, Sort>();
  return ({ from }) => {
    const net = list.at(from);
    if (net === undefined) return 'control';
    const [end] = [...net.outputs, ...net.inputs];
    const sort =
      known.get(net) ?? sortOf(net, list, new Set()) ?? SORT_OF[end?.jack.signal ?? 'control'];
    known.set(net, sort);
    return sort;
  };
}

/** The sort of a net; undefined if all that drives it was seen before, or nothing does. Sound prevails over control volts. */
function sortOf(net: Net, list: Netlist, seen: Set<PatchModule>): Sort | undefined {
  const sorts = net.outputs.map(({ module, jack }): Sort | undefined => {
    const { carries, multiplies } = module.definition;
    const carried = carries?.[jack.name] ?? multiplies?.[jack.name];
    if (carried === undefined) return SORT_OF[jack.signal];
    if (seen.has(module)) return undefined;
    seen.add(module);
    const before = carried
      .flatMap((name) => list.at({ module: module.name, jack: name }) ?? [])
      .filter(({ outputs }) => outputs.length > 0);
    if (before.length === 0) return SORT_OF[jack.signal];
    return strongest(before.map((one) => sortOf(one, list, seen)));
  });
  return strongest(sorts);
}

function strongest(sorts: readonly (Sort | undefined)[]): Sort | undefined {
  return (['audio', 'control', 'gate'] as const).find((sort) => sorts.includes(sort));
}

/** Whether a cable is part of what keeps sequencers in step: its net reaches a clock or reset input. */
export function clockCables(patch: Patch): ReadonlySet<string> {
  const clocked = netlist(patch).nets.filter(({ inputs }) =>
    inputs.some(
      ({ module: { definition }, jack: { rise, facts } }) =>
        rise === 'resets' || (definition.counts !== undefined && facts.trigger !== undefined),
    ),
  );
  return new Set(clocked.flatMap(({ cables }) => cables.map(cableName)));
}

/** A cable by its ends, which no other has. */
export function cableName({ from, to }: Cable): string {
  return `${jackName(from)} ${jackName(to)}`;
}
