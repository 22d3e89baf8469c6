/**
 * The voltage of a node fed by several branches, each a voltage behind a resistance.
 *
 *   V = sum(Vi / Ri) / sum(1 / Ri)
 *
 * Source: Millman, "A Useful Network Theorem", Proc. IRE 28 (1940) 413-417 (from memory). With a
 * branch of zero ohms the sums are infinite and the node is simply that branch's voltage; two such
 * branches at different voltages have no solution.
 */

import { largest, smallest } from '../../src/modules/dsp/extremes.ts';

export interface Branch {
  /** V. */
  readonly volts: number;
  /** Ohm, 0 or more; Infinity is an open branch. */
  readonly ohms: number;
}

/**
 * The node's voltage, or why it has none. `conflict`: two zero-ohm branches disagree. `floating`:
 * no branch conducts.
 */
export type NodeVoltage =
  | { readonly state: 'solved'; readonly volts: number }
  | { readonly state: 'conflict'; readonly lowest: number; readonly highest: number }
  | { readonly state: 'floating' };

/**
 * Solves a node.
 * @param branches any number of branches in any order.
 */
export function solveNode(branches: readonly Branch[]): NodeVoltage {
  const stiff = branches.filter((branch) => branch.ohms === 0);
  if (stiff.length > 0) {
    const volts = stiff.map((branch) => branch.volts);
    const lowest = smallest(volts);
    const highest = largest(volts);
    if (lowest !== highest) return { state: 'conflict', lowest, highest };
    return { state: 'solved', volts: lowest };
  }
  let current = 0;
  let conductance = 0;
  for (const { volts, ohms } of branches) {
    current += volts / ohms;
    conductance += 1 / ohms;
  }
  if (conductance === 0) return { state: 'floating' };
  return { state: 'solved', volts: current / conductance };
}

/** The current that branch `i` gives to a node at `volts`: (Vi - V) / Ri, in ampere. */
export function branchCurrent(branch: Branch, volts: number): number {
  return (branch.volts - volts) / branch.ohms;
}
