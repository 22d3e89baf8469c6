// Nets and the laws of their voltage, against an independent solution: a nodal analysis by Gaussian
// elimination over conductances, in which every output is a node of its own behind its resistance.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { netlist } from '../../src/electrical/nets.ts';
import { nodeLaw, nodeVolts } from '../../src/electrical/node-law.ts';
import { closure, pitchVolts, plain, switchTrigger, volts } from '../../src/modules/facts.ts';
import { multiple } from '../../src/modules/multiple.ts';
import { close } from '../close.ts';
import { input, kindWith, moduleOf, output, patchOf, sink } from '../engine/build.ts';

const source = kindWith(() => [output('out', volts(0, 5))]);
const stiff = kindWith(() => [output('out', pitchVolts(0, 5))]);
const contact = kindWith(() => [output('out', closure())]);
const load = kindWith(() => [input('in', plain())]);
const pulled = kindWith(() => [input('in', switchTrigger())]);

describe('nets', () => {
  it('joins what a passive multiple joins, and nothing else', () => {
    const patch = patchOf(
      [
        moduleOf('s', source),
        moduleOf('m', multiple, { jacks: 4 }),
        moduleOf('a', load),
        moduleOf('b', load),
        moduleOf('c', load),
        moduleOf('t', source),
        moduleOf('o', sink),
      ],
      ['s.out -> m.in', 'm.out-1 -> a.in', 'm.out-2 -> b.in', 't.out -> c.in'],
    );
    const { nets } = netlist(patch);
    expect(nets.map((net) => net.jacks.map(({ module, jack }) => `${module}.${jack}`))).toEqual([
      ['s.out', 'm.in', 'm.out-1', 'm.out-2', 'a.in', 'b.in'],
      ['c.in', 't.out'],
    ]);
  });

  it('leaves a jack without a plug on no net, unless it is probed', () => {
    const patch = patchOf([moduleOf('s', source), moduleOf('o', sink)], []);
    expect(netlist(patch).at({ module: 's', jack: 'out' })).toBeUndefined();
    const probe = { module: 's', jack: 'out' };
    expect(netlist(patch, [probe]).at(probe)?.outputs).toHaveLength(1);
  });

  it('divides 5 V among a multiple and four inputs: 4.807692 V (S-net-02)', () => {
    const loads = ['a', 'b', 'c', 'd'];
    const patch = patchOf(
      [moduleOf('s', source), ...loads.map((name) => moduleOf(name, load)), moduleOf('o', sink)],
      loads.map((name) => `s.out -> ${name}.in`),
    );
    const net = netlist(patch).nets[0];
    if (net === undefined) throw new Error('no net');
    close(nodeVolts(nodeLaw(net), [5]), 4.807692, {
      abs: 1e-6,
      unit: 'V',
      why: "the reference's own tolerance, 1 uV",
    });
  });
});

describe('the law of a net', () => {
  const member = fc.constantFrom(source, stiff, contact, load, pulled);

  it('agrees with nodal analysis for any mixture of outputs and inputs', () => {
    fc.assert(
      fc.property(
        fc.array(member, { minLength: 1, maxLength: 8 }),
        fc.array(fc.double({ min: -12, max: 12, noNaN: true }), { minLength: 8, maxLength: 8 }),
        fc.array(fc.boolean(), { minLength: 8, maxLength: 8 }),
        (kinds, levels, switches) => {
          const modules = kinds.map((kind, i) => moduleOf(`m${i}`, kind));
          const names = modules.map(({ name, jacks }) => `${name}.${jacks[0]?.name}`);
          // A multiple with a jack for each: cables may not join two outputs, but its jacks may.
          const hub = moduleOf('hub', multiple, { jacks: 16 });
          const patch = patchOf(
            [...modules, hub, moduleOf('o', sink)],
            names.map((name, i) => `${name} -> hub.out-${i + 1}`),
          );
          const net = netlist(patch).nets[0];
          if (net === undefined) throw new Error('no net');
          const values = net.outputs.map(({ module, jack }) => {
            const index = Number(module.name.slice(1));
            if (jack.facts.type === 'switch') return switches[index] ? 1 : 0;
            // Zero-ohm outputs that disagree have no solution.
            return module.definition === stiff ? 3 : (levels[index] as number);
          });
          const got = nodeVolts(nodeLaw(net), values);
          const expected = nodal(net, values);
          close(got, expected, {
            abs: 1e-4,
            unit: 'V',
            why: 'elimination over conductances from 1e-5 to 1e6 S keeps some ten digits',
          });
        },
      ),
    );
  });
});

/**
 * The node's voltage by nodal analysis: unknowns are the shared node and each output's own node,
 * which an ideal source holds through 1 microohm.
 */
function nodal(net: ReturnType<typeof netlist>['nets'][number], values: readonly number[]): number {
  const size = 1 + net.outputs.length;
  const a = Array.from({ length: size }, () => new Array<number>(size).fill(0));
  const b = new Array<number>(size).fill(0);
  const add = (row: number, column: number, value: number): void => {
    (a[row] as number[])[column] = ((a[row] as number[])[column] as number) + value;
  };
  const join = (i: number, j: number, siemens: number): void => {
    add(i, i, siemens);
    add(j, j, siemens);
    add(i, j, -siemens);
    add(j, i, -siemens);
  };
  const hold = (i: number, volt: number, siemens: number): void => {
    add(i, i, siemens);
    b[i] = (b[i] as number) + volt * siemens;
  };
  for (const { jack } of net.inputs) hold(0, jack.facts.rest, 1 / jack.facts.ohms);
  net.outputs.forEach(({ jack }, index) => {
    const { facts } = jack;
    const value = values[index] as number;
    if (facts.type === 'switch') {
      hold(index + 1, facts.saturation, 1e6);
      if (value !== 0) join(0, index + 1, 1 / facts.ohms);
    } else {
      hold(index + 1, value, 1e6);
      join(0, index + 1, facts.ohms === 0 ? 1e6 : 1 / facts.ohms);
    }
  });
  // A floating node rests at 0 V.
  hold(0, 0, 1e-15);
  for (let pivot = 0; pivot < size; pivot++) {
    for (let row = pivot + 1; row < size; row++) {
      const factor =
        ((a[row] as number[])[pivot] as number) / ((a[pivot] as number[])[pivot] as number);
      for (let column = pivot; column < size; column++)
        add(row, column, -factor * ((a[pivot] as number[])[column] as number));
      b[row] = (b[row] as number) - factor * (b[pivot] as number);
    }
  }
  const x = new Array<number>(size).fill(0);
  for (let row = size - 1; row >= 0; row--) {
    let sum = b[row] as number;
    for (let column = row + 1; column < size; column++)
      sum -= ((a[row] as number[])[column] as number) * (x[column] as number);
    x[row] = sum / ((a[row] as number[])[row] as number);
  }
  return x[0] as number;
}
