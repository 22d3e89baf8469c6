/**
 * Stems: the voices that the mix is the sum of. Traced back from the output through modules that
 * only add (mixers, attenuators), so that the stems sum to the mix. A mixer driven into its supply
 * rails does more than add; then they do not, and the render says so.
 */

import type { Net, Netlist } from '../electrical/nets.ts';
import { nodeLaw } from '../electrical/node-law.ts';
import { type JackRef, jackName, type Patch } from '../patch/patch.ts';
import { type Prepared, prepared } from './prepared.ts';

/** A voice of the mix, and how much of it there is. */
export interface Stem {
  /** The output jack that the voice comes from. */
  readonly jack: JackRef;
  /** Volts at each of the output's inputs for a volt on the jack's net: left, right. */
  readonly gains: readonly [number, number];
}

/** The stems of a patch, in the order of its modules. Empty if nothing reaches the output. */
export function stemsOf(of: Patch | Prepared): readonly Stem[] {
  const {
    patch,
    nets: { at },
  } = prepared(of);
  const output = patch.modules.find(({ definition }) => definition.role === 'output');
  const found = new Map<string, { jack: JackRef; gains: [number, number] }>();
  const gainsOf = new Map<Net, [number, number]>();
  const give = (net: Net | undefined, gain: number, side: 0 | 1): void => {
    if (net === undefined || gain === 0) return;
    const gains = gainsOf.get(net) ?? [0, 0];
    gains[side] += gain;
    gainsOf.set(net, gains);
  };

  const ends = (['left', 'right'] as const).map(
    (jack) => output && at({ module: output.name, jack }),
  );
  ends.forEach((net, side) => {
    give(net, 1, side as 0 | 1);
  });
  const { order, closing } = fromTheOutput(ends, at);
  // Each net is visited after all those that it feeds have said how much of it they take.
  for (const net of order) {
    const gains = gainsOf.get(net);
    const [driver] = net.outputs;
    if (gains === undefined || driver === undefined) continue;
    const parts = partsOf(net, at);
    if (parts.length > 0) {
      const law = nodeLaw(net);
      const own = law.outputs[0]?.conductance ?? 0;
      const weight = law.stiff.length > 0 ? 1 : own / law.conductance;
      for (const { from, gain } of parts)
        for (const side of [0, 1] as const) {
          const share = gains[side] * weight * gain;
          // What comes round a cycle is a voice of its own.
          if (from !== undefined && closing.get(net)?.has(from)) addStem(from, share, side);
          else give(from, share, side);
        }
    } else for (const side of [0, 1] as const) addStem(net, gains[side], side);
  }

  function addStem(net: Net, gain: number, side: 0 | 1): void {
    const [driver] = net.outputs;
    if (driver === undefined || gain === 0) return;
    const leaf = { module: driver.module.name, jack: driver.jack.name };
    const stem = found.get(jackName(leaf)) ?? { jack: leaf, gains: [0, 0] };
    stem.gains[side] += gain;
    found.set(jackName(leaf), stem);
  }
  const rank = new Map(patch.modules.map(({ name }, index) => [name, index]));
  return [...found.values()].sort(
    (a, b) => (rank.get(a.jack.module) as number) - (rank.get(b.jack.module) as number),
  );
}

/** What a net is the sum of: the nets at the inputs of what alone drives it, and their gains there. */
function partsOf(
  net: Net,
  at: Netlist['at'],
): readonly { readonly from: Net | undefined; readonly gain: number }[] {
  const [driver, ...others] = net.outputs;
  if (driver === undefined || others.length > 0) return [];
  const { module, jack } = driver;
  return (module.definition.sums?.(module.settings) ?? [])
    .filter(({ output }) => output === jack.name)
    .map(({ input, gain }) => ({ from: at({ module: module.name, jack: input }), gain }));
}

/**
 * Orders the nets that make up the output, each after all that it is a part of. A net that is a part
 * of itself has no such place: what closes its cycle is left out, and told.
 */
function fromTheOutput(
  ends: readonly (Net | undefined)[],
  at: Netlist['at'],
): { order: readonly Net[]; closing: ReadonlyMap<Net, ReadonlySet<Net>> } {
  const order: Net[] = [];
  const closing = new Map<Net, Set<Net>>();
  const met = new Set<Net>();
  const open = new Set<Net>();
  const left = ends.filter((net) => net !== undefined);
  for (let net = left.at(-1); net !== undefined; net = left.at(-1)) {
    if (met.has(net)) {
      left.pop();
      if (open.delete(net)) order.push(net);
      continue;
    }
    met.add(net);
    open.add(net);
    for (const { from } of partsOf(net, at)) {
      if (from === undefined) continue;
      if (open.has(from)) closing.set(net, (closing.get(net) ?? new Set()).add(from));
      else if (!met.has(from)) left.push(from);
    }
  }
  return { order: order.reverse(), closing };
}
