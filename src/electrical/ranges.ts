/**
 * The volts that each output swings between, in the patch as it stands. Most outputs have a range of
 * their own. One that adds, scales or follows its inputs has the range that these give it: a gate of
 * 5 V through an attenuator at 40 % is one of 2 V.
 */

import type { OutputJack } from '../modules/definition.ts';
import { toRails } from '../modules/dsp/rails.ts';
import type { Patch, PatchModule } from '../patch/patch.ts';
import type { Net, Netlist, Terminal } from './nets.ts';
import { netSpans, type RangeOf } from './spans.ts';
import { type Extremes, extremes } from './tolerance.ts';

/**
 * Gives a function that finds the range of an output, V before its source resistance. A switch
 * output has none and gives 0 V. Where such modules feed one another in a circle, the one that is
 * come upon first has the range of its own facts.
 */
export function outputRanges(patch: Patch, { at }: Netlist): RangeOf {
  // By name, since modules of a kind may share the objects of their jacks.
  const found = new Map<string, Extremes>();
  const started = new Set<string>();
  const circular = new Set<string>();

  const rangeOf: RangeOf = ({ module, jack }) => {
    const name = `${module.name}.${jack.name}`;
    const known = found.get(name);
    if (known !== undefined) return known;
    if (jack.facts.type === 'switch') return { low: 0, high: 0 };
    const own = { low: jack.facts.low, high: jack.facts.high };
    const gains = gainsOf(module, jack.name);
    if (gains === undefined) return own;
    if (started.has(name)) {
      circular.add(name);
      return own;
    }
    started.add(name);
    let low = gains.offset;
    let high = gains.offset;
    for (const { input, gain } of gains.terms) {
      const range = inputRange(module, input, at({ module: module.name, jack: input }), rangeOf);
      low += Math.min(gain * range.low, gain * range.high);
      high += Math.max(gain * range.low, gain * range.high);
    }
    const range = circular.has(name) ? own : { low: toRails(low), high: toRails(high) };
    found.set(name, range);
    return range;
  };
  for (const module of patch.modules)
    for (const jack of module.jacks) if (jack.direction === 'out') rangeOf({ module, jack });
  return rangeOf;
}

interface Gains {
  readonly offset: number;
  readonly terms: readonly { readonly input: string; readonly gain: number }[];
}

/** How the output comes of the inputs, for kinds whose outputs are sums of them or follow one. */
function gainsOf({ definition, settings }: PatchModule, output: string): Gains | undefined {
  if (definition.kind === 'attenuator') {
    const { level, offset } = settings as { level: number; offset: number };
    return { offset, terms: [{ input: 'in', gain: level }] };
  }
  // Slowed down or held, a voltage is still one of those that came in.
  if (definition.kind === 'slew' || definition.kind === 'sample-hold')
    return { offset: 0, terms: [{ input: 'in', gain: 1 }] };
  const terms = (definition.sums?.(settings) ?? []).filter((sum) => sum.output === output);
  return terms.length === 0 ? undefined : { offset: 0, terms };
}

function inputRange(
  module: PatchModule,
  input: string,
  net: Net | undefined,
  rangeOf: (output: Terminal<OutputJack>) => Extremes,
): Extremes {
  const range = net === undefined ? undefined : extremes(netSpans(net, rangeOf, 0));
  if (range !== undefined) return range;
  const jack = module.jacks.find(({ name }) => name === input);
  const rest = jack?.direction === 'in' ? jack.facts.rest : 0;
  return { low: rest, high: rest };
}
