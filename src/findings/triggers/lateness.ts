/**
 * How much later an input goes on because edges are slow, where a rack states how slow: its own edge, and those
 * before it, one after the other.
 *
 *   late = rise / ln 9 x ln(1 / (1 - share)),  share = (threshold - low) / (high - low)
 *
 * The time that a delay module is set to is no part of it.
 *
 * Source: the rise of one resistance and capacitance: OutputStage in src/modules/facts.ts.
 */

import type { Net, Terminal } from '../../electrical/nets.ts';
import type { Crossed, OutputJack } from '../../modules/definition.ts';
import { type JackRef, jackName, type PatchModule } from '../../patch/patch.ts';
import type { Context } from '../finding.ts';
import { clockInputs } from './clock-inputs.ts';
import { contextAt } from './corners.ts';

/** What comes by an edge to one input. */
export interface EdgeAtInput {
  readonly net: Net;
  readonly rise: number;
  /** V before the edge, and by how much it rises. */
  readonly low: number;
  readonly step: number;
  readonly on: number;
}

/** How late an input goes on. */
export interface Lateness {
  readonly jack: JackRef;
  /** Its own edge, if that is slow, and s by which that makes it late. */
  readonly edge: EdgeAtInput | undefined;
  readonly own: number;
  /** The input before it that is the latest, if any is late, and s in all. */
  readonly before: Lateness | undefined;
  readonly sum: number;
}

const known = new WeakMap<Context, Map<string, Lateness | undefined>>();

/** How late an input goes on at the nominal values; undefined if at once. */
export function latenessAt(jack: JackRef, context: Context): Lateness | undefined {
  const all = known.get(context) ?? new Map<string, Lateness | undefined>();
  known.set(context, all);
  const left = [jack];
  const begun = new Set<string>();
  for (let next = left.at(-1); next !== undefined; next = left.at(-1)) {
    const name = jackName(next);
    const before = inputsBefore(next, context);
    if (all.has(name)) {
      left.pop();
      if (begun.delete(name)) all.set(name, latenessBy(next, before, all, context));
    } else {
      // A cycle comes back to what waits for itself.
      all.set(name, undefined);
      begun.add(name);
      for (const one of before) if (!all.has(jackName(one))) left.push(one);
    }
  }
  return all.get(jackName(jack));
}

/**
 * The same at the worst of all that may be off. Every step on the way is the later, the less the wire moves, the
 * slower it is and the more the input asks for, so it is one corner.
 */
export function latestAt(jack: JackRef, context: Context): Lateness | undefined {
  return latenessAt(jack, contextAt(new Map(), { way: 'short', rise: 1 }, context));
}

function latenessBy(
  jack: JackRef,
  inputs: readonly JackRef[],
  all: ReadonlyMap<string, Lateness | undefined>,
  context: Context,
): Lateness | undefined {
  const edge = edgeAt(jack, context);
  const own = edge === undefined ? 0 : lateAt(edge.on, edge);
  let before: Lateness | undefined;
  for (const input of inputs) {
    const one = all.get(jackName(input));
    if (one !== undefined && one.sum > (before?.sum ?? 0)) before = one;
  }
  if (edge === undefined && before === undefined) return undefined;
  return { jack, edge, own, before, sum: own + (before?.sum ?? 0) };
}

/** The inputs whose going on raises what drives an input. */
function inputsBefore(jack: JackRef, { patch, netlist }: Context): readonly JackRef[] {
  const raisedBy = ({ module, jack: output }: Terminal<OutputJack>): readonly JackRef[] => {
    const clocks = clockInputs(patch, module);
    if (clocks !== undefined) return [clocks.clock];
    const law = module.definition.gates?.(output.name);
    const inputs =
      law === undefined ? [] : law.inputs.filter((name) => law.turns?.(name) !== 'always');
    return inputs.map((name) => ({ module: module.name, jack: name }));
  };
  return (netlist.at(jack)?.outputs ?? []).flatMap(raisedBy);
}

/** The slow edge that comes to an input; undefined where the rack gives no rise of the one output that drives it. */
export function edgeAt(jack: JackRef, { netlist, levels }: Context): EdgeAtInput | undefined {
  const net = netlist.at(jack);
  const [output, ...others] = net?.outputs ?? [];
  const rise = output?.jack.facts.stage?.rise ?? 0;
  const given = net && levels.get(net);
  if (rise === 0 || others.length > 0 || given === undefined) return undefined;
  const input = given.inputs.find(
    ({ terminal }) => terminal.module.name === jack.module && terminal.jack.name === jack.jack,
  );
  const { low, high } = given;
  const crossed = input && crossedAt(input.terminal.module, jack.jack);
  if (crossed !== undefined) {
    // What moves the threshold may be anything.
    if (netlist.at({ ...jack, jack: crossed.moved }) !== undefined) return undefined;
    return { net: given.net, rise, low, step: high - low, on: crossed.on };
  }
  if (input?.trigger?.type !== 'voltage') return undefined;
  const { driven, on } = input.trigger;
  return { net: given.net, rise, low, step: driven - low, on };
}

/** Where an input is compared with a voltage, as in a comparator; undefined for any other. */
export function crossedAt(
  { definition, settings }: PatchModule,
  jack: string,
): Crossed | undefined {
  const crossed = definition.crossed?.(settings);
  return crossed?.input === jack ? crossed : undefined;
}

export function shareOf(volts: number, { low, step }: EdgeAtInput): number {
  return (volts - low) / step;
}

/** s from where an edge begins until it comes to some volts; infinity if it never does. */
export function lateAt(volts: number, edge: EdgeAtInput): number {
  const share = shareOf(volts, edge);
  if (share >= 1) return Number.POSITIVE_INFINITY;
  return share <= 0 ? 0 : (-Math.log1p(-share) * edge.rise) / Math.log(9);
}
