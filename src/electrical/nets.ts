/**
 * Nets: the groups of jacks that cables and passive multiples join into one node.
 *
 * A cable has no resistance here (Deviation: a patch cable's fraction of an ohm is below anything
 * that matters beside the outputs' own resistance), and no capacitance.
 */

import type { InputJack, OutputJack } from '../modules/definition.ts';
import {
  type Cable,
  type JackRef,
  jackName,
  type Patch,
  type PatchModule,
} from '../patch/patch.ts';

/** An output or input jack as it stands on a net. */
export interface Terminal<J> {
  readonly module: PatchModule;
  readonly jack: J;
}

/** Jacks that are joined, and so have one voltage. */
export interface Net {
  /** Every jack on the node, through jacks too, in the order of the patch. */
  readonly jacks: readonly JackRef[];
  // Outputs and inputs are in the order of their names, so that sums over them round alike
  // however the file is arranged.
  readonly outputs: readonly Terminal<OutputJack>[];
  readonly inputs: readonly Terminal<InputJack>[];
  readonly cables: readonly Cable[];
}

/** The nets of a patch, and which of them a jack is on. */
export interface Netlist {
  readonly nets: readonly Net[];
  /** The net of a jack, or undefined if no plug is in it. */
  at(ref: JackRef): Net | undefined;
}

/**
 * Finds the nets of a patch. Jacks without a plug are on none.
 * @param patch a checked patch: every cable's ends exist.
 * @param probes jacks to give a net even if no plug is in them, as a meter's lead would.
 */
export function netlist(patch: Patch, probes: readonly JackRef[] = []): Netlist {
  if (probes.length > 0) return found(patch, probes);
  const known = netlists.get(patch) ?? found(patch, []);
  netlists.set(patch, known);
  return known;
}

/** Of a patch without probes, for which everybody asks: a patch never changes. */
const netlists = new WeakMap<Patch, Netlist>();

function found(patch: Patch, probes: readonly JackRef[]): Netlist {
  const parents = new Map<string, string>();
  const root = (name: string): string => {
    let top = name;
    for (
      let parent = parents.get(top);
      parent !== undefined && parent !== top;
      parent = parents.get(top)
    )
      top = parent;
    parents.set(name, top);
    return top;
  };
  const join = (a: string, b: string): void => {
    parents.set(root(a), root(b));
  };

  for (const probe of probes) root(jackName(probe));
  for (const cable of patch.cables) join(jackName(cable.from), jackName(cable.to));
  for (const module of patch.modules) {
    const through = module.jacks.filter((jack) => jack.direction === 'through');
    const plugged = through.filter((jack) => parents.has(`${module.name}.${jack.name}`));
    for (const jack of plugged)
      join(
        `${module.name}.${jack.name}`,
        `${module.name}.${(plugged[0] as { name: string }).name}`,
      );
  }

  const byRoot = new Map<string, MutableNet>();
  for (const module of patch.modules) {
    for (const jack of module.jacks) {
      const name = `${module.name}.${jack.name}`;
      if (!parents.has(name)) continue;
      const top = root(name);
      let net = byRoot.get(top);
      if (net === undefined) {
        net = { jacks: [], outputs: [], inputs: [], cables: [] };
        byRoot.set(top, net);
      }
      net.jacks.push({ module: module.name, jack: jack.name });
      if (jack.direction === 'out') net.outputs.push({ module, jack });
      else if (jack.direction === 'in') net.inputs.push({ module, jack });
    }
  }
  for (const cable of patch.cables) byRoot.get(root(jackName(cable.from)))?.cables.push(cable);
  for (const net of byRoot.values()) {
    net.outputs.sort(byName);
    net.inputs.sort(byName);
  }
  return {
    nets: [...byRoot.values()],
    at: (ref) => {
      const name = jackName(ref);
      return parents.has(name) ? byRoot.get(root(name)) : undefined;
    },
  };
}

function byName(a: Terminal<{ name: string }>, b: Terminal<{ name: string }>): number {
  const first = `${a.module.name}.${a.jack.name}`;
  const second = `${b.module.name}.${b.jack.name}`;
  return first < second ? -1 : first > second ? 1 : 0;
}

interface MutableNet {
  jacks: JackRef[];
  outputs: Terminal<OutputJack>[];
  inputs: Terminal<InputJack>[];
  cables: Cable[];
}
