/**
 * The plan of a render: which modules run, in which order, in which segments, and which nets they
 * read and drive. Plain data; `compile` turns each segment into a loop.
 */

import { type Net, netlist } from '../electrical/nets.ts';
import { type NodeLaw, nodeLaw, nodeVolts } from '../electrical/node-law.ts';
import type { InputJack } from '../modules/definition.ts';
import { largest, smallest } from '../modules/dsp/extremes.ts';
import type { JackRef, Patch, PatchModule } from '../patch/patch.ts';
import { runningOrder } from './order.ts';

/**
 * Modules in a segment at most, by weight, unless a cycle is longer. Above this the loop outgrows V8's inlining
 * budget and its calls stop being inlined; see "Segments" in DEVELOPERS.md for the measurements.
 */
const SEGMENT_WEIGHT = 2;

export interface Plan {
  /** The modules that have a circuit, in running order. */
  readonly modules: readonly PlannedModule[];
  readonly nets: readonly PlannedNet[];
  /** Ranges of `modules`: each runs as one loop over a block before the next one starts. */
  readonly segments: readonly Segment[];
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
  /** Index into `modules` and field of each output, in the law's order. */
  readonly drivers: readonly { readonly module: number; readonly field: string }[];
  /** The module after which its volts are worked out; -1 if nothing drives it. */
  readonly after: number;
  /** Whether modules drive it that do not run here: its volts come from outside. */
  readonly isFed: boolean;
}

export interface Segment {
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
 * @param probes jacks whose volts are wanted though perhaps no plug is in them.
 * @param runs names of the modules that run; all unless given. A net is driven by these alone or by
 *   others alone.
 */
export function plan(
  patch: Patch,
  probes: readonly JackRef[] = [],
  runs?: ReadonlySet<string>,
): Plan {
  const { nets, at } = netlist(patch, probes);
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
  const groups = quietFirst(
    runningOrder({ names: running.map((module) => module.name), drivers }),
    drivers,
    running.map(({ definition }) => definition.restless === true),
  );
  const order = groups.flat().map((index) => running[index] as PatchModule);
  const position = new Map(order.map((module, index) => [module, index]));

  const plannedNets = nets.map((net): PlannedNet => {
    const outputs = net.outputs.flatMap(({ module, jack }) => {
      const index = position.get(module);
      return index === undefined ? [] : [{ module: index, field: jack.field }];
    });
    if (outputs.length > 0 && outputs.length < net.outputs.length)
      throw new Error('a net is driven by modules that run and by others');
    return {
      net,
      law: nodeLaw(net),
      drivers: outputs,
      after: largest(
        outputs.map((output) => output.module),
        -1,
      ),
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
    segments: segmentsOf(
      groups,
      order.map(({ definition }) => definition.weight ?? 1),
      plannedNets,
    ),
    source,
  };
}

/**
 * Puts what nothing restless reaches (the control path, as a rule) before the rest, each in its order: a
 * segment of modules that rest at the same times can be passed over.
 */
function quietFirst(
  groups: readonly (readonly number[])[],
  drivers: readonly (readonly number[])[],
  restless: readonly boolean[],
): readonly (readonly number[])[] {
  const isBusy = restless.map(() => false);
  for (const group of groups) {
    const busy = group.some(
      (node) => restless[node] === true || drivers[node]?.some((driver) => isBusy[driver] === true),
    );
    if (busy) for (const node of group) isBusy[node] = true;
  }
  const busy = (group: readonly number[]): boolean => isBusy[group[0] as number] === true;
  return [...groups.filter((group) => !busy(group)), ...groups.filter(busy)];
}

/**
 * Cuts the groups, in order, into segments. A cycle stays whole, and so do the drivers of one net,
 * whose volts are summed in the loop of the last of them.
 */
function segmentsOf(
  groups: readonly (readonly number[])[],
  weights: readonly number[],
  nets: readonly PlannedNet[],
): Segment[] {
  const joined = nets
    .filter(({ drivers }) => drivers.length > 1)
    .map(({ drivers, after }) => ({
      first: smallest(drivers.map(({ module }) => module)),
      last: after,
    }));
  const mayCut = (at: number): boolean =>
    !joined.some(({ first, last }) => first < at && at <= last);
  const segments: Segment[] = [];
  let from = 0;
  let to = 0;
  let weight = 0;
  for (const group of groups) {
    const added = weights.slice(to, to + group.length).reduce((sum, each) => sum + each, 0);
    if (to > from && weight + added > SEGMENT_WEIGHT && mayCut(to)) {
      segments.push({ from, to });
      from = to;
      weight = 0;
    }
    to += group.length;
    weight += added;
  }
  if (to > from) segments.push({ from, to });
  return segments;
}
