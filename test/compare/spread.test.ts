// Values between two ends: geometric and arithmetic sequences, by their closed forms.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { spread } from '../../src/compare/spread.ts';
import { close } from '../close.ts';

const ROUNDED = { rel: 0.5e-3, unit: '', why: 'values are rounded to four digits' };

describe('spread', () => {
  it('gives equal ratios for what is heard by ratios: 20 ms to 500 ms in 8 steps', () => {
    const values = spread(0.02, 0.5, 8, 'time');
    expect(values).toHaveLength(8);
    // Geometric sequence: a r^i with r = (b / a)^(1 / 7) = 25^(1/7) = 1.58378...
    values.forEach((value, i) => {
      close(value, 0.02 * 25 ** (i / 7), { ...ROUNDED, unit: 's' });
    });
  });

  it('gives equal steps of percentages, decibels, volts and semitones, through zero too', () => {
    expect(spread(-1, 1, 5, 'percent')).toEqual([-1, -0.5, 0, 0.5, 1]);
    expect(spread(-12, 0, 4, 'decibel')).toEqual([-12, -8, -4, 0]);
    expect(spread(-5, 5, 3, 'voltage')).toEqual([-5, 0, 5]);
    expect(spread(0, 12, 5, 'interval')).toEqual([0, 3, 6, 9, 12]);
  });

  it('keeps what cannot be a fraction whole', () => {
    expect(spread(1, 16, 5, 'count')).toEqual([1, 2, 4, 8, 16]);
  });

  it('keeps both ends as they are, rises without repeating, and stays between them', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1e-3, max: 1e4, noNaN: true }),
        fc.double({ min: 1.1, max: 1e3, noNaN: true }),
        fc.integer({ min: 2, max: 64 }),
        (from, ratio, count) => {
          const to = from * ratio;
          const values = spread(from, to, count, 'frequency');
          expect([values[0], values[count - 1]]).toEqual([from, to]);
          // Six digits tell 64 values over a ratio of 1.1 apart.
          expect(values).toEqual([...new Set(values)].sort((a, b) => a - b));
        },
      ),
    );
  });
});
