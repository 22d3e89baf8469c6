// Thresholds against the resistor formula and a circuit simulator (test/reference/comparator.json);
// the truth of both outputs by deduction.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { comparator } from '../../src/modules/comparator.ts';
import { reference } from '../reference.ts';
import { solo } from './solo.ts';

const settings = { threshold: 1, hysteresis: 0.5, level: 8 };

function above(volts: readonly number[], more: object = {}, at = 0): number[] {
  const circuit = solo(comparator, { settings: { ...settings, ...more } });
  return volts.map((v) => {
    circuit.run(v, at);
    expect(circuit.below).toBe(8 - (circuit.above as number));
    return circuit.above as number;
  });
}

describe('comparator', () => {
  it('switches half the hysteresis above and below its threshold', () => {
    expect(above([0, 1.2, 1.25, 1, 0.8, 0.75, 1.2, 5, -5])).toEqual([0, 0, 8, 8, 8, 0, 0, 8, 0]);
  });

  it('S-schmitt-11: has the thresholds of two resistors around an op-amp', () => {
    const { expected } = reference<unknown, { upper_V: number; lower_V: number }>(
      'comparator',
      'S-schmitt-11',
    );
    const { upper_V: upper, lower_V: lower } = expected;
    const like = { threshold: (upper + lower) / 2, hysteresis: upper - lower };
    // 1e-6 V either side: the reference's own tolerance.
    expect(above([upper - 1e-6, upper + 1e-6, lower + 1e-6, lower - 1e-6], like)).toEqual([
      0, 8, 8, 0,
    ]);
  });

  it('adds the reference jack to the threshold', () => {
    expect(above([3.2, 3.25, 2.76, 2.75], {}, 2)).toEqual([0, 8, 8, 0]);
  });

  it('with no hysteresis stays as it is at the threshold itself', () => {
    expect(above([1, 1.001, 1, 0.999, 1], { hysteresis: 0 })).toEqual([0, 8, 8, 0, 0]);
  });

  it('switches once for any wobble within the hysteresis', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: 0.76, max: 1.24, noNaN: true })), (wobble) => {
        const out = above([2, ...wobble, 0, ...wobble]);
        expect(out).toEqual([8, ...wobble.map(() => 8), 0, ...wobble.map(() => 0)]);
      }),
    );
  });

  it('starts with below on', () => {
    const circuit = solo(comparator, { settings });
    circuit.run(0, 0);
    expect(circuit).toMatchObject({ above: 0, below: 8 });
  });
});
