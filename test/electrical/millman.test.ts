// Node voltages against worked examples that a general circuit simulator computed independently.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { close } from '../close.ts';
import { references } from '../reference.ts';
import { branchCurrent, solveNode } from './millman.ts';

interface Node {
  readonly branches?: readonly { readonly volts: number; readonly ohms: number }[];
}

const examples = references<Node>('nets');

describe('a node fed by several branches', () => {
  it('has the thirteen examples that are one node', () => {
    expect(examples.filter(({ inputs }) => inputs.branches !== undefined)).toHaveLength(13);
  });

  it.each(examples.filter(({ inputs }) => inputs.branches))('$id: $what', (example) => {
    const branches = example.inputs.branches ?? [];
    const node = solveNode(branches);
    if (node.state !== 'solved') throw new Error(node.state);
    close(node.volts, example.expected.V as number, {
      abs: 1e-6,
      unit: 'V',
      why: "the reference's own tolerance, 1 uV: below anything that matters at a jack",
    });
    for (const [key, milliampere] of Object.entries(example.expected)) {
      const index = /^mA_out_of_(\d+)$/.exec(key)?.[1];
      const branch = branches[Number(index)];
      // A zero-ohm branch gives whatever the others take: its current is not (V - V) / 0.
      if (index === undefined || branch === undefined || branch.ohms === 0) continue;
      close(branchCurrent(branch, node.volts) * 1000, milliampere, {
        abs: 1e-6,
        unit: 'mA',
        why: "the reference's own tolerance",
      });
    }
  });

  it('reports two zero-ohm branches that disagree', () => {
    const branches = [
      { volts: 5, ohms: 0 },
      { volts: 0, ohms: 0 },
      { volts: 0, ohms: 1000 },
    ];
    expect(solveNode(branches)).toEqual({ state: 'conflict', lowest: 0, highest: 5 });
  });

  it('takes zero-ohm branches that agree', () => {
    const branches = [
      { volts: 5, ohms: 0 },
      { volts: 5, ohms: 0 },
    ];
    expect(solveNode(branches)).toEqual({ state: 'solved', volts: 5 });
  });

  it('floats when no branch conducts', () => {
    expect(solveNode([])).toEqual({ state: 'floating' });
    expect(solveNode([{ volts: 5, ohms: Number.POSITIVE_INFINITY }])).toEqual({
      state: 'floating',
    });
  });

  it("obeys Kirchhoff's current law: the currents into the node sum to zero", () => {
    const branch = fc.record({
      volts: fc.double({ min: -12, max: 12, noNaN: true }),
      ohms: fc.double({ min: 1, max: 1e7, noNaN: true }),
    });
    fc.assert(
      fc.property(fc.array(branch, { minLength: 1, maxLength: 20 }), (branches) => {
        const node = solveNode(branches);
        if (node.state !== 'solved') return false;
        const { volts } = node;
        const sum = branches.reduce((total, b) => total + branchCurrent(b, volts), 0);
        // The voltage is rounded in its last bits, so each current by that times 1 / R.
        const siemens = branches.reduce((total, b) => total + 1 / b.ohms, 0);
        return Math.abs(sum) < 1e-14 * 12 * siemens * branches.length;
      }),
    );
  });
});
