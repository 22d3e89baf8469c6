/**
 * Where the strokes that reach a net come from, through what only scales, adds up or compares their volts.
 *
 * Each of several gates that are added up must do the same to what is behind them, or their strokes are not
 * known: one that is mixed in softly is not meant to pass a threshold.
 */

import type { Net, Netlist, Terminal } from '../../electrical/nets.ts';
import { passedBy } from '../../electrical/ranges.ts';
import type { OutputJack } from '../../modules/definition.ts';
import { largest, smallest } from '../../modules/dsp/extremes.ts';

/** A net, and whether a stroke lets its volts down where they should rise. */
interface StrokeWay {
  readonly net: Net;
  readonly isTurned: boolean;
}

/** Share by which steps may differ that count as the same. Resistors of 5 % each way; chosen, no source. */
const ALIKE = 0.1;

/**
 * The outputs whose gates rise at each stroke and reach a net.
 * @returns undefined where what reaches it is not known to rise with gates.
 */
export function strokeSources(
  net: Net,
  netlist: Netlist,
): readonly Terminal<OutputJack>[] | undefined {
  const found: Terminal<OutputJack>[] = [];
  const left: StrokeWay[] = [{ net, isTurned: false }];
  const seen = new Set<Net>();
  for (let next = left.pop(); next !== undefined; next = left.pop()) {
    // By two ways, or in a circle, it may do anything.
    if (seen.has(next.net)) return undefined;
    seen.add(next.net);
    for (const output of next.net.outputs) {
      const before = waysInto(output, next.isTurned, netlist);
      if (before !== undefined) for (const way of before) left.push(way);
      else if (next.isTurned) return undefined;
      else found.push(output);
    }
  }
  return areAlike(found.map(({ jack }) => stepOf(jack))) ? found : undefined;
}

/** The nets whose volts an output scales or compares; undefined of one that makes gates or volts of its own. */
function waysInto(
  { module, jack }: Terminal<OutputJack>,
  isTurned: boolean,
  netlist: Netlist,
): readonly StrokeWay[] | undefined {
  const { definition, settings, name } = module;
  const driving = (input: string): Net | undefined => {
    const net = netlist.at({ module: name, jack: input });
    return net !== undefined && net.outputs.length > 0 ? net : undefined;
  };
  const law = definition.gates?.(jack.name);
  if (law !== undefined) {
    const passed = law.strokes?.(settings);
    const [from, ...others] = passed?.from ?? [];
    const input = module.jacks.find((one) => one.direction === 'in' && one.name === from);
    const isCompared = input?.direction === 'in' && input.facts.trigger === undefined;
    if (from === undefined || others.length > 0 || !isCompared) return undefined;
    const net = driving(from);
    const isMoved = law.inputs.some((one) => one !== from && driving(one) !== undefined);
    if (net === undefined || isMoved) return undefined;
    return [{ net, isTurned: isTurned !== (law.turns?.(from) === 'always') }];
  }
  if (definition.isInstant !== true) return undefined;
  const isDriven = (input: { readonly jack: string }): boolean => driving(input.jack) !== undefined;
  const passed = passedBy(module, jack.name, isDriven);
  const terms = (passed?.terms ?? []).flatMap(({ input, gain }) => {
    const net = gain === 0 ? undefined : driving(input);
    return net === undefined ? [] : [{ net, gain }];
  });
  if (terms.length === 0 || !areAlike(terms.map(({ gain }) => gain))) return undefined;
  return terms.map(({ net, gain }) => ({ net, isTurned: isTurned !== gain < 0 }));
}

function stepOf({ facts }: OutputJack): number {
  return facts.type === 'voltage' ? facts.high - facts.low : 1;
}

/** Whether all are of one sign and about one size. */
function areAlike(all: readonly number[]): boolean {
  if (all.length < 2) return true;
  const [least, most] = [smallest(all), largest(all)];
  return least * most > 0 && Math.abs(most - least) <= ALIKE * Math.max(most, -least);
}
