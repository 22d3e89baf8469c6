/**
 * The voltage of a net as a law of its outputs: what the engine works out at every sample and the
 * `volts` command prints. It is Millman's theorem with all that stays constant summed beforehand.
 *
 *   V = (rest + sum(Gi Vi) + sum over closed switches(Gj Sj)) / (G + sum over closed switches(Gj))
 */

import type { Net } from './nets.ts';

/** How the outputs of a net determine its volts, as sums that are worked out once. */
export interface NodeLaw {
  /** Conductance of all voltage outputs and inputs, siemens. */
  readonly conductance: number;
  /** Current that the inputs' pull-ups give, ampere: sum of rest volts by their ohms. */
  readonly rest: number;
  /** One for each of the net's outputs, in its order. */
  readonly outputs: readonly OutputLaw[];
  /**
   * Indexes of zero-ohm voltage outputs. One decides the node alone. Several that differ have no
   * solution; the engine then takes their mean, and the check reports the conflict.
   */
  readonly stiff: readonly number[];
}

/** What one output does to its net. */
export interface OutputLaw {
  readonly type: 'voltage' | 'switch';
  /** Siemens: 1 / source resistance, for a switch when closed. Infinity for zero ohms. */
  readonly conductance: number;
  /** V of a closed switch at no current; 0 for a voltage output. */
  readonly saturation: number;
}

/** Sums up what determines a net's volts, for {@link nodeVolts}. */
export function nodeLaw(net: Net): NodeLaw {
  let conductance = 0;
  let rest = 0;
  for (const { jack } of net.inputs) {
    conductance += 1 / jack.facts.ohms;
    rest += jack.facts.rest / jack.facts.ohms;
  }
  const stiff: number[] = [];
  const outputs = net.outputs.map(({ jack }, index): OutputLaw => {
    const { facts } = jack;
    const own = 1 / facts.ohms;
    if (facts.type === 'switch')
      return { type: 'switch', conductance: own, saturation: facts.saturation };
    if (facts.ohms === 0) stiff.push(index);
    else conductance += own;
    return { type: 'voltage', conductance: own, saturation: 0 };
  });
  return { conductance, rest, outputs, stiff };
}

/**
 * The node's voltage for given outputs.
 * @param values one an output of the net: volts before the source resistance, or 1 closed / 0 open
 *   for a switch.
 * @returns V; 0 for a node that nothing holds (a floating node has no voltage of its own).
 */
export function nodeVolts(law: NodeLaw, values: readonly number[]): number {
  if (law.stiff.length > 0) {
    let sum = 0;
    for (const index of law.stiff) sum += values[index] as number;
    return sum / law.stiff.length;
  }
  let current = law.rest;
  let conductance = law.conductance;
  law.outputs.forEach((output, index) => {
    const value = values[index] as number;
    if (output.type === 'voltage') current += output.conductance * value;
    else if (value !== 0) {
      current += output.conductance * output.saturation;
      conductance += output.conductance;
    }
  });
  return conductance === 0 ? 0 : current / conductance;
}
