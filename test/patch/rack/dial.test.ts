// Dials: values between measured positions, against the closed form of a straight line on a log
// scale, and the way back.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type DialTable, positionOf, valueAt } from '../../../src/patch/rack/dial.ts';
import { close } from '../../close.ts';

const decay: DialTable = {
  quantity: 'time',
  points: [
    { position: 0, value: 0.002 },
    { position: 5, value: 0.12 },
    { position: 10, value: 10 },
  ],
};

describe('a dial', () => {
  it('gives what was measured where it was measured', () => {
    for (const { position, value } of decay.points) expect(valueAt(decay, position)).toBe(value);
  });

  it('is on a log scale for times: half way is the geometric mean', () => {
    // Nine digits are kept of a value.
    close(valueAt(decay, 2.5), Math.sqrt(0.002 * 0.12), {
      abs: 5e-10,
      unit: 's',
      why: 'nine digits are kept of a value',
    });
    close(valueAt(decay, 7.5), Math.sqrt(0.12 * 10), {
      abs: 5e-9,
      unit: 's',
      why: 'nine digits are kept of a value',
    });
    // 2 ms x 60^(3.4 / 5) = 32.4 ms.
    close(valueAt(decay, 3.4), 0.002 * 60 ** 0.68, {
      abs: 5e-10,
      unit: 's',
      why: 'nine digits are kept of a value',
    });
  });

  it('is linear for percentages and decibels, and where it touches zero', () => {
    const points = [
      { position: 0, value: 0 },
      { position: 10, value: 1 },
    ];
    expect(valueAt({ quantity: 'percent', points }, 3)).toBe(0.3);
    expect(
      valueAt(
        {
          quantity: 'decibel',
          points: [
            { position: 0, value: -60 },
            { position: 10, value: 0 },
          ],
        },
        5,
      ),
    ).toBe(-30);
    expect(valueAt({ quantity: 'time', points }, 3)).toBe(0.3);
  });

  it('does not go beyond its ends', () => {
    expect(valueAt(decay, -0.1)).toBeUndefined();
    expect(valueAt(decay, 10.1)).toBeUndefined();
    expect(positionOf(decay, 0.001)).toBeUndefined();
    expect(positionOf(decay, 11)).toBeUndefined();
  });

  const rising = fc
    .tuple(
      fc.uniqueArray(fc.integer({ min: 0, max: 100 }), { minLength: 2, maxLength: 6 }),
      fc.array(fc.double({ min: 1.05, max: 10, noNaN: true }), { minLength: 6, maxLength: 6 }),
      fc.boolean(),
    )
    .map(([positions, steps, falls]): DialTable => {
      let value = 0.001;
      const points = positions
        .sort((a, b) => a - b)
        .map((position, index) => {
          value *= steps[index] as number;
          return { position, value: falls ? 1 / value : value };
        });
      return { quantity: 'time', points };
    });

  it('turned to the position of a value gives the value, rising or falling', () => {
    fc.assert(
      fc.property(rising, fc.double({ min: 0, max: 1, noNaN: true }), (table, share) => {
        const [first, last] = [table.points[0]?.position ?? 0, table.points.at(-1)?.position ?? 0];
        const value = valueAt(table, first + share * (last - first)) as number;
        fc.pre(value !== undefined);
        const back = positionOf(table, value);
        close(valueAt(table, back ?? Number.NaN), value, {
          rel: 1e-7,
          unit: '',
          why: 'nine digits either way',
        });
      }),
    );
  });

  it('never leaves the values of its neighbours', () => {
    fc.assert(
      fc.property(rising, fc.double({ min: 0, max: 100, noNaN: true }), (table, position) => {
        const value = valueAt(table, position) as number;
        fc.pre(value !== undefined);
        const values = table.points.map((point) => point.value);
        expect(value).toBeGreaterThanOrEqual(Math.min(...values) * (1 - 1e-8));
        expect(value).toBeLessThanOrEqual(Math.max(...values) * (1 + 1e-8));
      }),
    );
  });
});
