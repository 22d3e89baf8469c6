// Worst cases of a node, against all corners by brute force and against points inside the box.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type BranchSpan, type Extremes, extremes } from '../../src/electrical/tolerance.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';

/** Up to five branches: 2^10 corners. A branch may be open at one end, as a switch is. */
const span = fc
  .record({
    volts: fc.tuple(
      fc.double({ min: -12, max: 12, noNaN: true }),
      fc.double({ min: 0, max: 3, noNaN: true }),
    ),
    siemens: fc.tuple(
      fc.oneof(fc.constant(0), fc.double({ min: 1e-6, max: 0.02, noNaN: true })),
      fc.double({ min: 0, max: 0.01, noNaN: true }),
    ),
  })
  .map(
    ({ volts: [low, wide], siemens: [least, more] }): BranchSpan => ({
      low,
      high: low + wide,
      leastSiemens: least,
      mostSiemens: least + more,
    }),
  );

function volts(branches: readonly { readonly volts: number; readonly siemens: number }[]): number {
  const total = branches.reduce((sum, { siemens }) => sum + siemens, 0);
  return branches.reduce((sum, one) => sum + one.volts * one.siemens, 0) / total;
}

/** Every branch at either end of both its ranges. */
function corners(spans: readonly BranchSpan[]): Extremes | undefined {
  let found: Extremes | undefined;
  for (let corner = 0; corner < 4 ** spans.length; corner++) {
    const value = volts(
      spans.map((one, index) => {
        const bits = Math.floor(corner / 4 ** index) % 4;
        return {
          volts: bits % 2 === 0 ? one.low : one.high,
          siemens: bits < 2 ? one.leastSiemens : one.mostSiemens,
        };
      }),
    );
    if (Number.isNaN(value)) continue;
    found = found
      ? { low: Math.min(found.low, value), high: Math.max(found.high, value) }
      : { low: value, high: value };
  }
  return found;
}

describe('the extremes of a node', () => {
  it('are those of all corners', () => {
    fc.assert(
      fc.property(fc.array(span, { minLength: 1, maxLength: 5 }), (spans) => {
        const got = extremes(spans);
        const all = corners(spans);
        if (all === undefined) {
          expect(got).toBeUndefined();
          return;
        }
        // Sums of five terms in another order differ in the last bits: 1e-12 of 12 V.
        close(got?.low, all.low, {
          abs: 1e-11,
          unit: 'V',
          why: 'sums of five terms in another order differ in the last bits: 1e-12 of 12 V',
        });
        close(got?.high, all.high, {
          abs: 1e-11,
          unit: 'V',
          why: 'sums of five terms in another order differ in the last bits: 1e-12 of 12 V',
        });
      }),
      runs(300),
    );
  });

  it('hold every point inside the box, so that corners are enough', () => {
    const share = fc.double({ min: 0, max: 1, noNaN: true });
    const inside = fc.tuple(span, share, share);
    fc.assert(
      fc.property(fc.array(inside, { minLength: 1, maxLength: 8 }), (points) => {
        const got = extremes(points.map(([one]) => one));
        const value = volts(
          points.map(([one, v, g]) => ({
            volts: one.low + v * (one.high - one.low),
            siemens: one.leastSiemens + g * (one.mostSiemens - one.leastSiemens),
          })),
        );
        fc.pre(got !== undefined && !Number.isNaN(value));
        expect(value).toBeGreaterThan((got?.low ?? Number.NaN) - 1e-11);
        expect(value).toBeLessThan((got?.high ?? Number.NaN) + 1e-11);
      }),
    );
  });

  it('of a loaded divider, 5 V +-5 % behind 1 kohm +-5 % into 100 kohm +-5 %: worked by hand', () => {
    const ends = (ohms: number): Pick<BranchSpan, 'leastSiemens' | 'mostSiemens'> => ({
      leastSiemens: 1 / (ohms * 1.05),
      mostSiemens: 1 / (ohms * 0.95),
    });
    const got = extremes([
      { low: 4.75, high: 5.25, ...ends(1000) },
      { low: 0, high: 0, ...ends(100_000) },
    ]);
    // V = E Rin / (Rin + Rs): 4.75 x 95 / 96.05 and 5.25 x 105 / 105.95, to the microvolt.
    close(got?.low, 4.698_074, { abs: 5e-7, unit: 'V', why: 'worked to the microvolt' });
    close(got?.high, 5.202_926, { abs: 5e-7, unit: 'V', why: 'worked to the microvolt' });
  });

  it('of branches that are all open do not exist', () => {
    expect(extremes([{ low: 0, high: 5, leastSiemens: 0, mostSiemens: 0 }])).toBeUndefined();
    expect(extremes([])).toBeUndefined();
  });

  it('with a branch of no resistance are those of that branch', () => {
    const stiff = Number.POSITIVE_INFINITY;
    const spans = [
      { low: 2, high: 3, leastSiemens: stiff, mostSiemens: stiff },
      { low: -9, high: 9, leastSiemens: 0.001, mostSiemens: 0.001 },
    ];
    expect(extremes(spans)).toEqual({ low: 2, high: 3 });
  });
});
