/**
 * Stems: the voices that the mix is the sum of. Traced back from the output through modules that
 * only add (mixers, attenuators, panners and crossfaders, whatever moves these), so that the stems sum to the mix.
 * A mixer driven into its supply rails does more than add; then they do not, and the render says so.
 */

import type { Net, Netlist } from '../electrical/nets.ts';
import { nodeLaw } from '../electrical/node-law.ts';
import { passedBy } from '../electrical/ranges.ts';
import { type JackRef, jackName, type Patch, type PatchModule } from '../patch/patch.ts';
import { type Prepared, prepared } from './prepared.ts';

/** A voice of the mix, and how much of it there is. */
export interface Stem {
  /** The output jack that the voice comes from. */
  readonly jack: JackRef;
  /**
   * Volts at each of the output's inputs for a volt on the jack's net: left, right. Where volts move them, with
   * these at 0 V.
   */
  readonly gains: readonly [number, number];
  /** Where volts move them: the ways that the voice takes to the output, which add up. */
  readonly ways?: readonly StemWay[];
}

/** A way of a voice to the output: its gains, times what each mover makes of its volts. */
export interface StemWay {
  readonly gains: readonly [number, number];
  readonly movers: readonly Mover[];
}

/** What moves a gain. */
export interface Mover {
  /** The output jack whose net has the volts that move it. */
  readonly jack: JackRef;
  /** The part of a sum that it is the gain of: module, output and input. */
  readonly part: string;
  gainAt(volts: number): number;
}

/** The jacks whose volts a stem is worked out from, its own first. */
export function jacksOfStem({ jack, ways = [] }: Stem): readonly JackRef[] {
  return [jack, ...ways.flatMap(({ movers }) => movers.map((one) => one.jack))];
}

/** The stems of a patch, in the order of its modules. Empty if nothing reaches the output. */
export function stemsOf(of: Patch | Prepared): readonly Stem[] {
  const { patch, nets } = prepared(of);
  const { at } = nets;
  const output = patch.modules.find(({ definition }) => definition.role === 'output');
  const found = new Map<string, { jack: JackRef; ways: Ways }>();
  const waysOf = new Map<Net, Ways>();
  const give = (net: Net | undefined, way: StemWay): void => {
    if (net === undefined || way.gains.every((gain) => gain === 0)) return;
    const ways = waysOf.get(net) ?? new Map();
    waysOf.set(net, added(ways, way));
  };

  const ends = (['left', 'right'] as const).map(
    (jack) => output && at({ module: output.name, jack }),
  );
  ends.forEach((net, side) => {
    give(net, { gains: side === 0 ? [1, 0] : [0, 1], movers: [] });
  });
  const { order, closing } = fromTheOutput(ends, nets);
  // Each net is visited after all those that it feeds have said how much of it they take.
  for (const net of order) {
    const ways = [...(waysOf.get(net)?.values() ?? [])];
    const [driver] = net.outputs;
    if (ways.length === 0 || driver === undefined) continue;
    const parts = partsOf(net, nets);
    if (parts.length > 0) {
      const law = nodeLaw(net);
      const own = law.outputs[0]?.conductance ?? 0;
      const weight = law.stiff.length > 0 ? 1 : own / law.conductance;
      for (const { from, gain, mover } of parts)
        for (const { gains, movers } of ways) {
          const [left, right] = gains.map((one) => one * weight * gain) as [number, number];
          const way = {
            gains: [left, right] as const,
            movers: mover === undefined ? movers : [...movers, mover],
          };
          // What comes round a cycle is a voice of its own.
          if (from !== undefined && closing.get(net)?.has(from)) addStem(from, way);
          else give(from, way);
        }
    } else for (const way of ways) addStem(net, way);
  }

  function addStem(net: Net, way: StemWay): void {
    const [driver] = net.outputs;
    if (driver === undefined || way.gains.every((gain) => gain === 0)) return;
    const leaf = { module: driver.module.name, jack: driver.jack.name };
    const stem = found.get(jackName(leaf)) ?? { jack: leaf, ways: new Map() };
    added(stem.ways, way);
    found.set(jackName(leaf), stem);
  }
  const rank = new Map(patch.modules.map(({ name }, index) => [name, index]));
  return [...found.values()]
    .sort((a, b) => (rank.get(a.jack.module) as number) - (rank.get(b.jack.module) as number))
    .map(({ jack, ways }) => stemBy(jack, [...ways.values()]));
}

/** The ways to the output, by what moves them: those that the same volts move are one. */
type Ways = Map<string, StemWay>;

function added(ways: Ways, { gains: [left, right], movers }: StemWay): Ways {
  const key = movers.map((mover) => mover.part).join(' ');
  const before = ways.get(key)?.gains ?? [0, 0];
  return ways.set(key, { gains: [before[0] + left, before[1] + right], movers });
}

function stemBy(jack: JackRef, ways: readonly StemWay[]): Stem {
  const gains: [number, number] = [0, 0];
  for (const { gains: own, movers } of ways) {
    const moved = movers.reduce((product, { gainAt }) => product * gainAt(0), 1);
    for (const side of [0, 1] as const) gains[side] += own[side] * moved;
  }
  const isMoved = ways.some(({ movers }) => movers.length > 0);
  return { jack, gains, ...(isMoved && { ways }) };
}

/** A net at an input of what alone drives another, and its gain there. */
interface NetPart {
  readonly from: Net | undefined;
  readonly gain: number;
  readonly mover?: Mover;
}

/** What a net is the sum of. */
function partsOf(net: Net, nets: Netlist): readonly NetPart[] {
  const [driver, ...others] = net.outputs;
  if (driver === undefined || others.length > 0) return [];
  const { module, jack } = driver;
  const { definition, settings, name } = module;
  const from = (input: string): Net | undefined => nets.at({ module: name, jack: input });
  const isDriven = (ref: JackRef): boolean => (nets.at(ref)?.outputs.length ?? 0) > 0;
  if (definition.sums === undefined) return [];
  const passed = passedBy(module, jack.name, isDriven);
  if (passed?.offset === 0 && definition.isInstant === true)
    return passed.terms.map(({ input, gain }) => ({ from: from(input), gain }));
  const moved = definition.moves?.(settings);
  const control = moved && from(moved.by)?.outputs[0];
  if (moved === undefined || control === undefined || leadsBack(module, moved.by, nets)) return [];
  return moved
    .at(0)
    .filter(({ output }) => output === jack.name)
    .map(({ input }) => ({
      from: from(input),
      gain: 1,
      mover: {
        part: `${name}.${jack.name}.${input}`,
        jack: { module: control.module.name, jack: control.jack.name },
        gainAt: (volts) =>
          moved.at(volts).find((one) => one.output === jack.name && one.input === input)?.gain ?? 0,
      },
    }));
}

/** Whether the volts at an input depend on what its own module gives: they may come a sample late there. */
function leadsBack(module: PatchModule, input: string, { at }: Netlist): boolean {
  const seen = new Set<PatchModule>();
  const left = (at({ module: module.name, jack: input })?.outputs ?? []).map((one) => one.module);
  for (let next = left.pop(); next !== undefined; next = left.pop()) {
    if (next === module) return true;
    if (seen.has(next)) continue;
    seen.add(next);
    for (const { name, direction } of next.jacks)
      if (direction === 'in')
        for (const one of at({ module: next.name, jack: name })?.outputs ?? [])
          left.push(one.module);
  }
  return false;
}

/**
 * Orders the nets that make up the output, each after all that it is a part of. A net that is a part
 * of itself has no such place: what closes its cycle is left out, and told.
 */
function fromTheOutput(
  ends: readonly (Net | undefined)[],
  nets: Netlist,
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
    for (const { from } of partsOf(net, nets)) {
      if (from === undefined) continue;
      if (open.has(from)) closing.set(net, (closing.get(net) ?? new Set()).add(from));
      else if (!met.has(from)) left.push(from);
    }
  }
  return { order: order.reverse(), closing };
}
