// Levels of nets: published nets (computed with a general circuit simulator), and an independent way to
// solve a node: bisection on the sum of its currents (Kirchhoff's current law), which must be zero.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type NetLevels, netLevels, rangesOf } from '../../src/electrical/levels.ts';
import { netlist } from '../../src/electrical/nets.ts';
import { outputRanges } from '../../src/electrical/ranges.ts';
import { attenuator } from '../../src/modules/attenuator.ts';
import type { Definition } from '../../src/modules/definition.ts';
import {
  type InputFacts,
  type OutputFacts,
  plain,
  type SwitchOutput,
  switchTrigger,
  voltageTrigger,
  volts,
} from '../../src/modules/facts.ts';
import { mixer } from '../../src/modules/mixer.ts';
import { multiple } from '../../src/modules/multiple.ts';
import type { PatchModule } from '../../src/patch/patch.ts';
import { close } from '../close.ts';
import { input, kindWith, moduleOf, output, patchOf, sink } from '../engine/build.ts';
import { expected, reference } from '../reference.ts';
import { runs } from '../runs.ts';

const ROUNDING = { abs: 5e-13, unit: 'V', why: 'rounding' };

const source = (facts: OutputFacts): Definition => kindWith(() => [output('out', facts)]);
const load = (facts: InputFacts): Definition => kindWith(() => [input('in', facts)]);

/** The levels of the one net that joins all outputs and inputs. */
function levelsOf(
  outputs: readonly OutputFacts[],
  inputs: readonly InputFacts[],
  tolerance = 0,
): NetLevels {
  const modules: PatchModule[] = [
    ...outputs.map((facts, i) => moduleOf(`o${i}`, source(facts))),
    ...inputs.map((facts, i) => moduleOf(`i${i}`, load(facts))),
    moduleOf('hub', multiple, { jacks: 16 }),
    moduleOf('sink', sink),
  ];
  const cables = modules
    .filter(({ name }) => /^[oi]\d/.test(name))
    .map(({ name }, i) => `${name}.${name.startsWith('o') ? 'out' : 'in'} -> hub.out-${i + 1}`);
  const patch = patchOf(modules, cables);
  const list = netlist(patch);
  const [net] = list.nets;
  if (net === undefined) throw new Error('no net');
  return netLevels(net, rangesOf(patch, list, tolerance));
}

const closed = (saturation: number, ohms: number): SwitchOutput => ({
  type: 'switch',
  saturation,
  ohms,
});
const V = (id: string): number => expected(reference('nets', id), 'V');

describe('published nets', () => {
  const near = (got: number, want: number): void =>
    close(got, want, { abs: 1e-6, unit: 'V', why: "the reference's own tolerance, 1 uV" });

  it('a gate into one input and into four (S-net-01, S-net-02)', () => {
    near(levelsOf([volts(0, 5)], [plain()]).high, V('S-net-01'));
    near(levelsOf([volts(0, 5)], [plain(), plain(), plain(), plain()]).high, V('S-net-02'));
  });

  it('a stronger output into three unequal inputs (S-net-03)', () => {
    const loads = [100_000, 47_000, 22_000].map((ohms) => ({ ...plain(), ohms }));
    near(levelsOf([volts(0, 10, 470)], loads).high, V('S-net-03'));
  });

  it('two gates joined, one of them on: what a trigger gets (S-net-04)', () => {
    const { inputs } = levelsOf([volts(0, 5), volts(0, 5)], [voltageTrigger()]);
    near(inputs[0]?.trigger?.driven ?? Number.NaN, V('S-net-04'));
  });

  it('a contact closure on a pulled-up input, and on two (S-net-06, S-net-11)', () => {
    const pull: InputFacts = { ...switchTrigger(), rest: 5, ohms: 10_000 };
    near(levelsOf([closed(0.1, 10)], [pull]).low, V('S-net-06'));
    const other: InputFacts = { ...switchTrigger(), rest: 12, ohms: 47_000 };
    near(levelsOf([closed(0.1, 10)], [pull, other]).low, V('S-net-11'));
  });

  it('a voltage output on a pulled-up input, at rest and active (S-net-08, S-net-09)', () => {
    const levels = levelsOf([volts(0, 10)], [switchTrigger()]);
    near(levels.rest, V('S-net-08'));
    near(levels.high, V('S-net-09'));
  });

  it('a closure on an input without a pull-up never raises it (S-net-10)', () => {
    const levels = levelsOf([closed(0.1, 10)], [voltageTrigger()]);
    near(levels.high, V('S-net-10'));
    expect(levels.rest).toBe(0);
    expect(levels.inputs[0]?.trigger?.margin).toBeLessThan(0);
  });

  it('an output of no resistance has its way (S-net-13)', () => {
    near(levelsOf([volts(8, 8, 0), volts(0, 0)], [plain()]).high, V('S-net-13'));
  });
});

describe('margins', () => {
  it('of a gate: what it has over the threshold, and under it at rest', () => {
    const trigger = levelsOf([volts(0, 5)], [voltageTrigger()]).inputs[0]?.trigger;
    // 5 V x 100 / 101 - 2.5 V; 1.5 V - 0 V.
    close(trigger?.margin, (5 * 100) / 101 - 2.5, ROUNDING);
    close(trigger?.share, ((5 * 100) / 101 - 2.5) / 2.5, { abs: 5e-13, unit: '', why: 'rounding' });
    close(trigger?.release, 1.5, ROUNDING);
  });

  it('of a closure: what it has under the threshold, and over the other when open', () => {
    const trigger = levelsOf([closed(0, 50)], [switchTrigger()]).inputs[0]?.trigger;
    // 5 V x 50 / 10050 when closed; 5 V when open.
    close(trigger?.margin, 0.8 - (5 * 50) / 10_050, ROUNDING);
    close(trigger?.release, 3, ROUNDING);
  });

  it('shrink with tolerance to the worst corner, worked by hand', () => {
    const trigger = levelsOf([volts(0, 5)], [voltageTrigger()], 0.05).inputs[0]?.trigger;
    // Level 4.75 V behind 1.05 kohm into 95 kohm, threshold 2.625 V.
    close(trigger?.margin, (4.75 * 95) / 96.05 - 2.625, ROUNDING);
    close(trigger?.release, 1.425, ROUNDING);
  });

  it('do not exist on a net that nothing drives', () => {
    const levels = levelsOf([], [voltageTrigger(), switchTrigger()]);
    expect(levels.inputs.every(({ trigger }) => trigger === undefined)).toBe(true);
    // 5 V through 10 kohm against 100 kohm to ground.
    close(levels.high, (5 * 100) / 110, ROUNDING);
  });
});

describe('any net', () => {
  const outputs = fc.oneof(
    fc.record({
      type: fc.constant('voltage' as const),
      low: fc.double({ min: -12, max: 0, noNaN: true }),
      high: fc.double({ min: 0, max: 12, noNaN: true }),
      ohms: fc.double({ min: 1, max: 1e6, noNaN: true }),
    }),
    fc.record({
      type: fc.constant('switch' as const),
      saturation: fc.double({ min: 0, max: 0.7, noNaN: true }),
      ohms: fc.double({ min: 1, max: 1000, noNaN: true }),
    }),
  );
  const inputs = fc.oneof(
    fc.double({ min: 10, max: 1e9, noNaN: true }).map((ohms) => ({ ...plain(), ohms })),
    fc.double({ min: 100, max: 1e6, noNaN: true }).map((ohms) => ({ ...switchTrigger(), ohms })),
  );

  it('stands between the lowest and highest of all states, solved by bisection, within 0.01 %', () => {
    fc.assert(
      fc.property(
        fc.array(outputs, { minLength: 1, maxLength: 4 }),
        fc.array(inputs, { minLength: 1, maxLength: 4 }),
        (from, to) => {
          const levels = levelsOf(from, to);
          let low = Number.POSITIVE_INFINITY;
          let high = Number.NEGATIVE_INFINITY;
          for (let state = 0; state < 2 ** from.length; state++) {
            const value = bisected(from, to, (index) => Math.floor(state / 2 ** index) % 2 === 1);
            low = Math.min(low, value);
            high = Math.max(high, value);
          }
          // 0.01 %, and 1 uV where the voltage is near zero.
          close(levels.low, low, {
            abs: 1e-4 * Math.abs(low) + 1e-6,
            unit: 'V',
            why: '0.01 %, and 1 uV where the voltage is near zero',
          });
          close(levels.high, high, {
            abs: 1e-4 * Math.abs(high) + 1e-6,
            unit: 'V',
            why: '0.01 %, and 1 uV where the voltage is near zero',
          });
        },
      ),
      runs(200),
    );
  });
});

/** Where the currents into the node add up to nothing. */
function bisected(
  outputs: readonly OutputFacts[],
  inputs: readonly InputFacts[],
  isOn: (index: number) => boolean,
): number {
  const current = (at: number): number =>
    inputs.reduce((sum, { rest, ohms }) => sum + (rest - at) / ohms, 0) +
    outputs.reduce((sum, facts, index) => {
      if (facts.type === 'voltage')
        return sum + ((isOn(index) ? facts.high : facts.low) - at) / facts.ohms;
      return isOn(index) ? sum + (facts.saturation - at) / facts.ohms : sum;
    }, 0);
  let [low, high] = [-100, 100];
  for (let step = 0; step < 200; step++) {
    const middle = (low + high) / 2;
    if (current(middle) > 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

describe('what an output really swings between', () => {
  const gate = source(volts(0, 8, 0));

  it('follows an attenuator and a mixer', () => {
    const patch = patchOf(
      [
        moduleOf('gate', gate),
        moduleOf('half', attenuator, { level: -0.5, offset: 1 }),
        moduleOf('sum', mixer, { 'level-2': 2 }),
        moduleOf('sink', sink),
      ],
      ['gate.out -> half.in', 'half.out -> sum.in-2', 'sum.out -> sink.left'],
    );
    const rangeOf = outputRanges(patch, netlist(patch), undefined);
    const range = (name: string): { low: number; high: number } => {
      const module = patch.modules.find((one) => one.name === name);
      const jack = module?.jacks.find((one) => one.name === 'out');
      if (module === undefined || jack?.direction !== 'out') throw new Error(name);
      const { low, high } = rangeOf({ module, jack });
      // With no tolerance each level is one value.
      expect([low.high, high.high]).toEqual([low.low, high.low]);
      return { low: low.low, high: high.high };
    };
    // 1 V - 0.5 x (0 to 8 V); then twice that, less the loss of 1 kohm into 100 kohm.
    expect(range('half')).toEqual({ low: -3, high: 1 });
    close(range('sum').low, (2 * -3 * 100) / 101, ROUNDING);
    close(range('sum').high, (2 * 1 * 100) / 101, ROUNDING);
  });

  it('is the kind’s own range where mixers feed one another in a circle', () => {
    const patch = patchOf(
      [moduleOf('a', mixer), moduleOf('b', mixer), moduleOf('sink', sink)],
      ['a.out -> b.in-1', 'b.out -> a.in-1', 'b.out -> sink.left'],
    );
    const rangeOf = outputRanges(patch, netlist(patch), undefined);
    for (const module of patch.modules.slice(0, 2)) {
      const jack = module.jacks.find((one) => one.name === 'out');
      if (jack?.direction !== 'out') throw new Error('no out');
      const { low, high } = rangeOf({ module, jack });
      expect(Number.isFinite(low.low) && Number.isFinite(high.high) && high.high <= 12).toBe(true);
    }
  });
});
