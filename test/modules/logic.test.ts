// Truth tables of Boolean algebra, written out.

import { describe, expect, it } from 'vitest';
import { logic } from '../../src/modules/logic.ts';
import { solo } from './solo.ts';

describe('logic', () => {
  it.each([
    //  a  b    or and exclusive not
    [0, 0, 0, 0, 0, 6],
    [0, 5, 6, 0, 6, 6],
    [5, 0, 6, 0, 6, 0],
    [5, 5, 6, 6, 0, 0],
  ])('a %d V, b %d V', (a, b, or, and, exclusive, not) => {
    const circuit = solo(logic, { settings: { level: 6 } });
    circuit.run(a, b);
    expect(circuit).toMatchObject({ or, and, exclusive, not });
  });

  // Thresholds of a gate: the design, section 6.
  it('has hysteresis at both inputs', () => {
    const circuit = solo(logic);
    const out = [2.4, 2.5, 1.6, 1.5, 2.4].map((volts) => {
      circuit.run(volts, 5 - volts);
      return [circuit.or, circuit.and, circuit.exclusive, circuit.not];
    });
    expect(out).toEqual([
      [5, 0, 5, 5], // b rose at 2.6 V
      [5, 5, 0, 0], // a rose; b at 2.5 V is still on
      [5, 5, 0, 0],
      [5, 0, 5, 5], // a fell
      [5, 0, 5, 5],
    ]);
  });

  it('starts with nothing on but not', () => {
    const circuit = solo(logic);
    circuit.run(0, 0);
    expect(circuit).toMatchObject({ or: 0, and: 0, exclusive: 0, not: 5 });
  });
});
