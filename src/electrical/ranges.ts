/**
 * The levels of each output, with the present settings of the patch. Most outputs have their own levels.
 * An output that adds, scales or follows inputs has levels that follow from theirs: a gate of 5 V
 * through an attenuator at 40 % becomes one of 2 V. Errors at the inputs are passed on, and those of
 * its own gains and offset are added:
 *
 *   level = offset (1 +- t) + sum(gain (1 +- t) x level at the input, itself somewhere in a range)
 *
 * Behind a switch the levels are the lowest and the highest of the inputs that it may select.
 *
 * Each value occurs once on the way to an output, and the level is linear in it, so that the worst
 * cases are corners, and the sum of the worst of each term is the worst of the sum. A follower's gain
 * of 1 is set by resistors too, and off like any other.
 *
 * Deviation: where one source reaches an output by two ways of opposite sign, each takes it at another
 * corner, and the worst case is worse than the true one.
 */

import type { OutputJack, Passing } from '../modules/definition.ts';
import { largest, smallest } from '../modules/dsp/extremes.ts';
import { toRails } from '../modules/dsp/rails.ts';
import { type JackRef, jackName, type Patch, type PatchModule } from '../patch/patch.ts';
import type { Net, Netlist, Terminal } from './nets.ts';
import { type Levels, netSpans, type RangeOf } from './spans.ts';
import { around, type Extremes, extremes, type Tolerance } from './tolerance.ts';

/**
 * Gives a function that finds the levels of an output, V before its source resistance. A switch
 * output has none and gives 0 V. Where such modules feed one another in a circle, the one that is
 * reached first has the levels of its own facts.
 * @param tolerance by which every resistance, level and gain may be off, under 1.
 * @param wanted the outputs that it is asked for; all unless given.
 */
export function outputRanges(
  patch: Patch,
  { at }: Netlist,
  tolerance: Tolerance,
  wanted?: readonly Terminal<OutputJack>[],
): RangeOf {
  // By name, since modules of a kind may share the objects of their jacks.
  const found = new Map<string, Levels>();
  const known: RangeOf = ({ module, jack }) =>
    found.get(`${module.name}.${jack.name}`) ?? ownLevels(jack, tolerance);
  const isDriven = (ref: JackRef): boolean => (at(ref)?.outputs.length ?? 0) > 0;

  const visitOf = (output: Terminal<OutputJack>): Visit => {
    const { module, jack } = output;
    const passed = jack.facts.type === 'switch' ? undefined : passedBy(module, jack.name, isDriven);
    const needed = (passed?.terms ?? []).flatMap(
      ({ input }) => at({ module: module.name, jack: input })?.outputs ?? [],
    );
    return { output, name: `${module.name}.${jack.name}`, passed, needed, next: 0 };
  };
  const work = ({ output: { module, jack }, passed }: Visit): Levels => {
    if (passed === undefined) return ownLevels(jack, tolerance);
    const inputs = passed.terms.map(({ input, gain }) => {
      const net = at({ module: module.name, jack: input });
      return { gain, levels: inputLevels(module, input, net, known, tolerance) };
    });
    return passed.isOneOf === true
      ? widest(inputs.map((one) => summed(passed.offset, [one], tolerance)))
      : summed(passed.offset, inputs, tolerance);
  };

  /** @returns whether outputs feed one another in a circle on the way to one. */
  const fill = (output: Terminal<OutputJack>): boolean => {
    let isCircular = false;
    // An explicit stack: a chain may be longer than the call stack is deep.
    const visits = [visitOf(output)];
    const begun = new Set(visits.map(({ name }) => name));
    for (let visit = visits.at(-1); visit !== undefined; visit = visits.at(-1)) {
      const before = found.has(visit.name) ? undefined : visit.needed[visit.next];
      if (before === undefined) {
        if (!found.has(visit.name)) found.set(visit.name, work(visit));
        visits.pop();
        continue;
      }
      visit.next += 1;
      const name = jackName({ module: before.module.name, jack: before.jack.name });
      if (found.has(name)) continue;
      if (begun.has(name)) {
        isCircular = true;
        found.set(name, ownLevels(before.jack, tolerance));
      } else {
        begun.add(name);
        visits.push(visitOf(before));
      }
    }
    return isCircular;
  };
  // Where a circle is entered goes by the order of the file, whatever is asked for.
  if (wanted !== undefined && !wanted.map(fill).includes(true)) return known;
  found.clear();
  for (const module of patch.modules)
    for (const jack of module.jacks) if (jack.direction === 'out') fill({ module, jack });
  return known;
}

interface Visit {
  readonly output: Terminal<OutputJack>;
  readonly name: string;
  readonly passed: Passed | undefined;
  /** The outputs that its levels depend on, and how many of them have been looked at. */
  readonly needed: readonly Terminal<OutputJack>[];
  next: number;
}

/** How an output's levels follow from those of inputs. */
export type Passed = Omit<Passing, 'output'>;

/** The same of one output; undefined where its kind says nothing of it. */
export function passedBy(
  { definition, settings, name }: PatchModule,
  output: string,
  isDriven: (ref: JackRef) => boolean,
): Passed | undefined {
  const { passes, sums } = definition;
  if (passes !== undefined)
    return passes(settings, (jack) => isDriven({ module: name, jack })).find(
      (one) => one.output === output,
    );
  const terms = (sums?.(settings) ?? []).filter((sum) => sum.output === output);
  return terms.length === 0 ? undefined : { offset: 0, terms };
}

function ownLevels({ facts }: OutputJack, tolerance: Tolerance): Levels {
  if (facts.type === 'switch') return { low: around(0, 0), high: around(0, 0) };
  const { low, high, stage, doubt } = facts;
  // A wave that is known by its high level alone keeps its middle.
  const lowDoubt =
    stage?.isScaled === true ? Math.abs(low / high) * (doubt?.high ?? 0) : doubt?.low;
  return { low: around(low, tolerance, lowDoubt), high: around(high, tolerance, doubt?.high) };
}

function summed(
  offset: number,
  inputs: readonly { readonly gain: number; readonly levels: Levels }[],
  tolerance: Tolerance,
): Levels {
  const base = around(offset, tolerance);
  const low = { ...base };
  const high = { ...base };
  for (const { gain, levels } of inputs) {
    const isUpright = gain >= 0;
    const gains = around(gain, tolerance);
    const lower = product(gains, isUpright ? levels.low : levels.high);
    const higher = product(gains, isUpright ? levels.high : levels.low);
    low.low += lower.low;
    low.high += lower.high;
    high.low += higher.low;
    high.high += higher.high;
  }
  return { low: withinRails(low), high: withinRails(high) };
}

/** The levels of an output that passes one of several at a time: the lowest and the highest of all. */
function widest(all: readonly Levels[]): Levels {
  const of = (pick: (levels: Levels) => number): number[] => all.map(pick);
  return {
    low: { low: smallest(of(({ low }) => low.low)), high: smallest(of(({ low }) => low.high)) },
    high: { low: largest(of(({ high }) => high.low)), high: largest(of(({ high }) => high.high)) },
  };
}

/** The lowest and highest product of a value of `a` and a value of `b`. */
function product(a: Extremes, b: Extremes): Extremes {
  const [ll, lh, hl, hh] = [a.low * b.low, a.low * b.high, a.high * b.low, a.high * b.high];
  return { low: Math.min(ll, lh, hl, hh), high: Math.max(ll, lh, hl, hh) };
}

function withinRails({ low, high }: Extremes): Extremes {
  return { low: toRails(low), high: toRails(high) };
}

/** The levels at an input: those of its net, or its rest level without a cable. */
function inputLevels(
  module: PatchModule,
  input: string,
  net: Net | undefined,
  rangeOf: RangeOf,
  tolerance: Tolerance,
): Levels {
  const levels = net && netRange(net, rangeOf, tolerance);
  if (levels !== undefined) return levels;
  const jack = module.jacks.find(({ name }) => name === input);
  const facts = jack?.direction === 'in' ? jack.facts : undefined;
  const rest = around(facts?.rest ?? 0, tolerance, facts?.doubt?.rest);
  return { low: rest, high: rest };
}

/**
 * The lowest and the highest level of a net: all its voltage outputs low, or high, and its switches open
 * or closed, whichever takes it further.
 * @returns undefined for a net that nothing holds.
 */
function netRange(net: Net, rangeOf: RangeOf, tolerance: Tolerance): Levels | undefined {
  const within = (voltage: 'rest' | 'on', contact: 'rest' | 'on'): Extremes | undefined =>
    extremes(
      netSpans(net, rangeOf, tolerance, (index) =>
        net.outputs[index]?.jack.facts.type === 'switch' ? contact : voltage,
      ),
    );
  const all = extremes(netSpans(net, rangeOf, tolerance));
  if (all === undefined) return undefined;
  const hasSwitch = net.outputs.some(({ jack }) => jack.facts.type === 'switch');
  const [open, openHigh] = [within('rest', 'rest'), within('on', 'rest')];
  const closed = hasSwitch ? within('rest', 'on') : open;
  const closedHigh = hasSwitch ? within('on', 'on') : openHigh;
  const least = Math.min(open?.high ?? all.high, closed?.high ?? all.high);
  const most = Math.max(openHigh?.low ?? all.low, closedHigh?.low ?? all.low);
  return { low: { low: all.low, high: least }, high: { low: most, high: all.high } };
}
