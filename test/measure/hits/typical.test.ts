// The weighted median, against its definition and worked cases.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { typical } from '../../../src/measure/hits/typical.ts';
import { close } from '../../close.ts';

const sure = (...values: readonly number[]) => values.map((value) => ({ value, reliability: 1 }));

describe('typical', () => {
  it('is the median of values that are trusted alike', () => {
    expect(typical(sure(3, 1, 2))).toEqual({ value: 2, reliability: 1 });
    expect(typical(sure(4, 1, 3, 2)).value).toBe(2.5);
  });

  it('is that of the sure ones, however many are in doubt', () => {
    const doubtful = [9, 9, 9, 9].map((value) => ({ value, reliability: 0.1 }));
    expect(typical([...sure(1, 1), ...doubtful]).value).toBe(1);
  });

  it('is as doubtful as what it is of, and between the least and the most doubtful', () => {
    // Worked: (2 x 1 + 4 x 0.01) / 2.4, and of one alone its own.
    const doubtful = [9, 9, 9, 9].map((value) => ({ value, reliability: 0.1 }));
    close(typical([...sure(1, 1), ...doubtful]).reliability, 0.85, {
      abs: 5e-10,
      unit: '',
      why: 'rounding',
    });
    close(typical(doubtful).reliability, 0.1, { abs: 5e-10, unit: '', why: 'rounding' });
  });

  it('is null of nothing that can be trusted', () => {
    expect(typical([])).toEqual({ value: null, reliability: 0 });
    expect(typical([{ value: null, reliability: 0 }]).value).toBeNull();
    expect(typical([{ value: 5, reliability: 0 }]).value).toBeNull();
  });

  it('has no more than half of the trust on either side', () => {
    const weighed = fc.record({
      value: fc.integer({ min: 0, max: 20 }),
      // Eighths add up without rounding.
      reliability: fc.integer({ min: 1, max: 8 }).map((n) => n / 8),
    });
    fc.assert(
      fc.property(fc.array(weighed, { minLength: 1 }), (all) => {
        const middle = typical(all).value as number;
        const trust = (some: typeof all) => some.reduce((sum, one) => sum + one.reliability, 0);
        const half = trust(all) / 2;
        expect(trust(all.filter(({ value }) => value < middle))).toBeLessThanOrEqual(half);
        expect(trust(all.filter(({ value }) => value > middle))).toBeLessThanOrEqual(half);
      }),
    );
  });
});
