// Tapped tempo against beats whose tempo is known, and against a regression worked out by hand.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { tempoOfTaps } from '../../src/timing/taps.ts';
import { close } from '../close.ts';

describe('taps', () => {
  it('give the tempo of an even beat, wherever it starts', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 20, max: 400, noNaN: true }),
        fc.integer({ min: 2, max: 60 }),
        fc.double({ min: 0, max: 1000, noNaN: true }),
        (tempo, count, start) => {
          const times = Array.from({ length: count }, (_, k) => start + (k * 60) / tempo);
          const found = tempoOfTaps(times);
          close(found?.tempo ?? 0, tempo, { rel: 1e-9, unit: 'bpm', why: 'rounding of the times' });
          expect(found?.spread).toBeLessThan(1e-9);
        },
      ),
    );
  });

  it('are fitted by least squares', () => {
    // Times 0, 0.5, 1.1: slope 0.55 by sum((k - 1) t) / 2; residuals 1/60, -1/30, 1/60; their
    // root mean square is sqrt((1 + 4 + 1) / 3) / 60.
    const found = tempoOfTaps([0, 0.5, 1.1]);
    close(found?.tempo, 60 / 0.55, { abs: 5e-10, unit: 'bpm', why: 'rounding' });
    close(found?.spread, Math.SQRT2 / 60, { abs: 5e-10, unit: 's', why: 'rounding' });
    expect(found?.taps).toBe(3);
  });

  it('that leave a beat out keep the tempo', () => {
    close(tempoOfTaps([0, 0.5, 1, 2, 2.5])?.tempo, 120, {
      abs: 5e-10,
      unit: 'bpm',
      why: 'rounding',
    });
  });

  it('too few, or all at once, give none', () => {
    expect(tempoOfTaps([])).toBeUndefined();
    expect(tempoOfTaps([1])).toBeUndefined();
    expect(tempoOfTaps([1, 1, 1])).toBeUndefined();
  });
});
