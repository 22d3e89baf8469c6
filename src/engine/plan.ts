/**
 * The plan of a render: which modules run, in which order, in which cycles, and which nets they read and
 * drive. Plain data; `renderer` makes circuits of it, and `wiring` wires.
 */

import type { Net, Netlist } from '../electrical/nets.ts';
import { type NodeLaw, nodeLaw, nodeVolts } from '../electrical/node-law.ts';
import type { InputJack } from '../modules/definition.ts';
import type { JackRef, Patch, PatchModule } from '../patch/patch.ts';
import { runningOrder } from './order.ts';

export interface Plan {
  /** The modules that have a circuit, in running order. */
  readonly modules: readonly PlannedModule[];
  readonly nets: readonly PlannedNet[];
  /** Ranges of `modules` that hear themselves, and so run together, sample by sample. */
  readonly cycles: readonly Cycle[];
  /** Where the volts of a jack are to be found. */
  source(ref: JackRef): Source;
}

export interface PlannedModule {
  readonly module: PatchModule;
  /** One for each of its input jacks, in order. */
  readonly inputs: readonly Source[];
  /** The nets whose volts are known once it has run: it is the last of their drivers to run. */
  readonly completes: readonly number[];
}

export interface PlannedNet {
  readonly net: Net;
  readonly law: NodeLaw;
  /** Index into `modules` and jack of each output, in the law's order. */
  readonly drivers: readonly { readonly module: number; readonly jack: string }[];
  /** The module after which its volts are worked out; -1 if nothing drives it. */
  readonly after: number;
  /** Whether modules drive it that do not run here: its volts come from outside. */
  readonly isFed: boolean;
}

export interface Cycle {
  /** Index of the first module. */
  readonly from: number;
  /** Index after the last module. */
  readonly to: number;
}

/** A driven net, or volts that never change. */
export type Source =
  | { readonly type: 'net'; readonly net: number }
  | { readonly type: 'constant'; readonly volts: number };

/**
 * Plans the render of a checked patch.
 * @param netlist its nets, with one for each probed jack that no plug is in.
 * @param runs names of the modules that run; all unless given. A net is driven by these alone or by
 *   others alone.
 */
export function plan(patch: Patch, { nets, at }: Netlist, runs?: ReadonlySet<string>): Plan {
  const netIndex = new Map(nets.map((net, index) => [net, index]));
  const running = patch.modules.filter(
    ({ definition, name }) => definition.create !== undefined && runs?.has(name) !== false,
  );
  const runningIndex = new Map(running.map((module, index) => [module, index]));

  const drivers = running.map((module) =>
    module.jacks.flatMap((jack) => {
      if (jack.direction !== 'in') return [];
      const net = at({ module: module.name, jack: jack.name });
      return (net?.outputs ?? []).flatMap(({ module }) => runningIndex.get(module) ?? []);
    }),
  );
  const groups = runningOrder({ names: running.map((module) => module.name), drivers });
  const order = groups.flat().map((index) => running[index] as PatchModule);
  const position = new Map(order.map((module, index) => [module, index]));

  const plannedNets = nets.map((net): PlannedNet => {
    let after = -1;
    const outputs = net.outputs.flatMap(({ module, jack }) => {
      const index = position.get(module);
      if (index === undefined) return [];
      after = Math.max(after, index);
      return [{ module: index, jack: jack.name }];
    });
    if (outputs.length > 0 && outputs.length < net.outputs.length)
      throw new Error('a net is driven by modules that run and by others');
    return {
      net,
      law: nodeLaw(net),
      drivers: outputs,
      after,
      isFed: outputs.length < net.outputs.length,
    };
  });

  const completed = new Map<number, number[]>();
  plannedNets.forEach(({ after }, index) => {
    if (after === -1) return;
    const list = completed.get(after);
    if (list === undefined) completed.set(after, [index]);
    else list.push(index);
  });

  const source = (ref: JackRef): Source => {
    const net = at(ref);
    if (net !== undefined) {
      const index = netIndex.get(net) as number;
      const { law, after, isFed } = plannedNets[index] as PlannedNet;
      return after === -1 && !isFed
        ? { type: 'constant', volts: nodeVolts(law, []) }
        : { type: 'net', net: index };
    }
    const module = patch.modules.find((candidate) => candidate.name === ref.module);
    const jack = module?.jacks.find((candidate) => candidate.name === ref.jack);
    if (jack === undefined) throw new Error(`no jack ${ref.module}.${ref.jack} in the patch`);
    return { type: 'constant', volts: jack.direction === 'in' ? jack.facts.rest : 0 };
  };

  return {
    modules: order.map((module, position) => ({
      module,
      completes: completed.get(position) ?? [],
      inputs: module.jacks
        .filter((jack): jack is InputJack => jack.direction === 'in')
        .map((jack) => source({ module: module.name, jack: jack.name })),
    })),
    nets: plannedNets,
    cycles: cyclesOf(groups, drivers),
    source,
  };
}

/** The groups, in order, of several modules, or of one that drives itself. */
function cyclesOf(
  groups: readonly (readonly number[])[],
  drivers: readonly (readonly number[])[],
): readonly Cycle[] {
  const cycles: Cycle[] = [];
  let from = 0;
  for (const group of groups) {
    const [first] = group;
    const to = from + group.length;
    if (group.length > 1 || drivers[first as number]?.includes(first as number))
      cycles.push({ from, to });
    from = to;
  }
  return cycles;
}
