/** What each cable carries, as diagrams and cable lists tell wires apart. */

import type { Netlist } from '../../electrical/nets.ts';
import { carriedSorts, SORT_OF, type Sort } from '../../electrical/sorts.ts';
import { type Cable, jackName } from '../../patch/patch.ts';

/**
 * Finds the sort of every cable of a patch with these nets. What passes through an attenuator, a mixer, an
 * amplifier and the like stays what it was; a loop of such modules has the sort of its output, a net that
 * nothing drives that of its input.
 */
export function wireSorts(list: Netlist): (cable: Cable) => Sort {
  const carried = carriedSorts(list);
  return ({ from }) => {
    const net = list.at(from);
    if (net === undefined) return 'control';
    const [end] = [...net.outputs, ...net.inputs];
    return carried.get(net) ?? SORT_OF[end?.jack.signal ?? 'control'];
  };
}

/** The cables, by {@link cableName}, that keep sequencers in step: their net reaches a clock or reset input. */
export function clockCables({ nets }: Netlist): ReadonlySet<string> {
  const clocked = nets.filter(({ inputs }) =>
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
