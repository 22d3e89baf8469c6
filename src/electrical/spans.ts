/**
 * A net's branches as ranges: the volts and conductances of its outputs and inputs, in any state and within
 * tolerance.
 */

import type { OutputJack } from '../modules/definition.ts';
import type { InputFacts, OutputFacts } from '../modules/facts.ts';
import type { Net, Terminal } from './nets.ts';
import { around, type BranchSpan, type Extremes, type Tolerance } from './tolerance.ts';

/** The two levels of an output, V before its source resistance, each somewhere in a range. */
export interface Levels {
  readonly low: Extremes;
  readonly high: Extremes;
}

/** Finds the levels of an output, at a tolerance. */
export type RangeOf = (output: Terminal<OutputJack>) => Levels;

/** What an output is doing; `any` leaves it open. */
export type OutputState = 'rest' | 'on' | 'any';

/**
 * The branches of a net.
 * @param rangeOf the outputs' levels, at the same tolerance.
 * @param stateOf the state of each output, all in any state unless given: at rest a voltage output
 *   gives its low level and a switch is open.
 * @param tolerance by which every resistance and every input's rest may be off; under 1.
 */
export function netSpans(
  net: Net,
  rangeOf: RangeOf,
  tolerance: Tolerance,
  stateOf: (index: number) => OutputState = () => 'any',
): BranchSpan[] {
  const loads = net.inputs.map(({ jack: { facts } }): BranchSpan => {
    return { ...around(facts.rest, tolerance, facts.doubt?.rest), ...siemens(facts, tolerance) };
  });
  const sources = net.outputs.map((output, index): BranchSpan => {
    const { facts } = output.jack;
    const state = stateOf(index);
    if (facts.type === 'switch') {
      const { leastSiemens, mostSiemens } = siemens(facts, tolerance);
      return {
        ...around(facts.saturation, tolerance, facts.doubt?.saturation),
        leastSiemens: state === 'on' ? leastSiemens : 0,
        mostSiemens: state === 'rest' ? 0 : mostSiemens,
      };
    }
    const range = rangeOf(output);
    return {
      low: (state === 'on' ? range.high : range.low).low,
      high: (state === 'rest' ? range.low : range.high).high,
      ...siemens(facts, tolerance),
    };
  });
  return [...loads, ...sources];
}

function siemens(
  { ohms, doubt }: InputFacts | OutputFacts,
  tolerance: Tolerance,
): { readonly leastSiemens: number; readonly mostSiemens: number } {
  const { low, high } = around(ohms, tolerance, doubt?.ohms);
  return { leastSiemens: 1 / high, mostSiemens: 1 / low };
}
