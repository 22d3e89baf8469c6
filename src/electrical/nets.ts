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
  const knots = new Map<string, Knot>();
  const knotOf = (name: string): Knot => {
    let knot = knots.get(name);
    if (knot === undefined) {
      knot = { joined: undefined, net: undefined };
      knots.set(name, knot);
    }
    return knot;
  };

  for (const probe of probes) knotOf(jackName(probe));
  for (const { from, to } of patch.cables) join(knotOf(jackName(from)), knotOf(jackName(to)));
  for (const { name, jacks } of patch.modules) {
    let first: Knot | undefined;
    for (const jack of jacks) {
      if (jack.direction !== 'through') continue;
      const knot = knots.get(`${name}.${jack.name}`);
      if (knot === undefined) continue;
      if (first === undefined) first = knot;
      else join(knot, first);
    }
  }

  const nets: MutableNet[] = [];
  for (const module of patch.modules) {
    for (const jack of module.jacks) {
      const knot = knots.get(`${module.name}.${jack.name}`);
      if (knot === undefined) continue;
      const top = rootOf(knot);
      let { net } = top;
      if (net === undefined) {
        net = { jacks: [], outputs: [], inputs: [], cables: [] };
        top.net = net;
        nets.push(net);
      }
      knot.net = net;
      net.jacks.push({ module: module.name, jack: jack.name });
      if (jack.direction === 'out') net.outputs.push({ module, jack });
      else if (jack.direction === 'in') net.inputs.push({ module, jack });
    }
  }
  for (const cable of patch.cables) knots.get(jackName(cable.from))?.net?.cables.push(cable);
  for (const net of nets) {
    net.outputs.sort(byName);
    net.inputs.sort(byName);
  }
  return { nets, at: (ref) => knots.get(jackName(ref))?.net };
}

/** A jack with a plug, as a union-find has it: jacks with the same root are on one net. */
interface Knot {
  /** The one that it is joined to; none for a root. */
  joined: Knot | undefined;
  net: MutableNet | undefined;
}

function rootOf(knot: Knot): Knot {
  let top = knot;
  while (top.joined !== undefined) top = top.joined;
  if (knot !== top) knot.joined = top;
  return top;
}

function join(a: Knot, b: Knot): void {
  const [from, to] = [rootOf(a), rootOf(b)];
  if (from !== to) from.joined = to;
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
