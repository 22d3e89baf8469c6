// The slew limiter against the closed form of an RC charge, worked out here with Math's own
// functions, and against figures that a circuit simulator gave (test/reference/envelope.json).

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { exponentialShare, slew } from '../../src/modules/slew.ts';
import { close } from '../close.ts';
import { reference } from '../reference.ts';
import { record, solo } from './solo.ts';

const RATE = 48_000;

function steady(volts: number, rise: number, fall: number, curve: string, length: number) {
  const circuit = solo(slew, { sampleRate: RATE, settings: { rise, fall, curve } });
  return record(circuit, 'out', length, () => volts);
}

describe('exponential', () => {
  // 1e-9 V: thousands of roundings of one unit in the last place of 5 V (9e-16) stay far under it.
  it.each([0.0007, 0.02, 3])('is an RC charge and discharge: time %d s', (time) => {
    const tau = (time / 5) * RATE;
    const circuit = solo(slew, { sampleRate: RATE, settings: { rise: time, fall: 2 * time } });
    const turn = 3000;
    const out = record(circuit, 'out', 2 * turn, (n) => (n < turn ? 5 : -3));
    const top = 5 * (1 - Math.exp(-turn / tau));
    let worst = 0;
    out.forEach((volts, n) => {
      const expected =
        n < turn
          ? 5 * (1 - Math.exp(-n / tau))
          : -3 + (top + 3) * Math.exp(-(n - turn) / (2 * tau));
      worst = Math.max(worst, Math.abs(volts - expected));
    });
    expect(worst).toBeLessThan(1e-9);
  });

  it('S-rc-01: reaches the charge of whole time constants', () => {
    const { expected } = reference<unknown, Record<string, number>>('envelope', 'S-rc-01');
    const tau = 960; // samples
    const out = steady(1, (5 * tau) / RATE, 0, 'exponential', 5 * tau + 1);
    for (const [n, part] of Object.entries(expected))
      close(out[Number(n) * tau], part, {
        abs: 1e-6,
        unit: 'V',
        why: "the reference's own tolerance, its printed digits",
      });
  });

  it('S-rc-13: has the coefficient of a sampled exponential', () => {
    const { inputs, expected } = reference<{ fs: number; tau: number }, { a: number }>(
      'envelope',
      'S-rc-13',
    );
    // The reference's tolerance: 1e-9 of the value.
    const a = 1 - exponentialShare(5 * inputs.tau * inputs.fs);
    close(a, expected.a, { rel: 1e-9, unit: '', why: "the reference's own tolerance" });
  });
});

describe('linear', () => {
  // Deduction: 5 V in the time, so 5 t / time; 1e-9 V as above.
  it('rises and falls 5 V in its time, in a straight line, and stops where it should', () => {
    const circuit = solo(slew, {
      sampleRate: RATE,
      settings: { rise: 0.01, fall: 0.02, curve: 'linear' },
    });
    const out = record(circuit, 'out', 2400, (n) => (n < 600 ? 5 : 1));
    for (const [n, volts] of [
      [0, 0],
      [240, 2.5],
      [480, 5],
      [600, 5],
      [600 + 480, 2.5],
      [600 + 768, 1],
      [2399, 1],
    ] as const)
      close(out[n], volts, { abs: 1e-9, unit: 'V', why: 'rounding of some thousand steps' });
  });
});

describe.each(['exponential', 'linear'])('both curves: %s', (curve) => {
  it('are a wire at 0 s, each way by itself', () => {
    expect([...steady(3, 0, 1, curve, 3)]).toEqual([3, 3, 3]);
    expect([...steady(-3, 1, 0, curve, 3)]).toEqual([-3, -3, -3]);
  });

  it('never leave the range of the volts that came in', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -12, max: 12, noNaN: true }), { minLength: 1, maxLength: 200 }),
        fc.double({ min: 0, max: 0.01, noNaN: true }),
        fc.double({ min: 0, max: 0.01, noNaN: true }),
        (volts, rise, fall) => {
          const circuit = solo(slew, { settings: { rise, fall, curve } });
          const out = record(circuit, 'out', volts.length, (n) => volts[n] as number);
          // One unit in the last place of 12 V, for the rounding of the sum.
          expect(Math.max(...out)).toBeLessThanOrEqual(Math.max(0, ...volts) + 2e-15);
          expect(Math.min(...out)).toBeGreaterThanOrEqual(Math.min(0, ...volts) - 2e-15);
        },
      ),
    );
  });
});

it('lets go of volts too small to hear, which would slow a processor down', () => {
  const circuit = solo(slew, { settings: { fall: 0.001 } });
  circuit.run(1);
  circuit.run(0);
  for (let n = 0; n < 128; n++) circuit.run(0);
  while (Math.abs(circuit.out as number) > 1e-15) circuit.run(0);
  // Until the end of the block, when it is let go.
  for (let n = 0; n < 128; n++) circuit.run(0);
  expect(circuit.out).toBe(0);
});
