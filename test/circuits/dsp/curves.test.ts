// The curves against the textbook's formulas, and their integrals against sums of rectangles.

import fc from 'fast-check';
import { describe, it } from 'vitest';
import '../shim.ts';
import { type Curve, Folding, Rectification, Saturation } from '../../../src/circuits/dsp/curves';
import { close } from '../../close.ts';
import { runs } from '../../runs.ts';

const LIMIT = 1.8;
/** Spread evenly: fast-check's own doubles crowd about 0. */
const anyX = fc.integer({ min: -30_000, max: 30_000 }).map((thousandths) => thousandths / 1000);

/** Each curve as another formula has it, and how to make one. */
const CURVES: Record<string, { f: (x: number) => number; make: () => Curve }> = {
  saturation: { f: (x) => Math.sin(Math.atan(x)), make: () => new Saturation() },
  folding: {
    f: (x) => (2 / Math.PI) * Math.asin(Math.sin((Math.PI * x) / 2)),
    make: () => new Folding(),
  },
  rectification: {
    f: (x) => Math.min(Math.sqrt(x * x), LIMIT),
    make: () => new Rectification(LIMIT),
  },
};

/** Mean of f from a to b by the midpoint rule. */
function mean(f: (x: number) => number, a: number, b: number): number {
  const parts = 4000;
  let sum = 0;
  for (let i = 0; i < parts; i++) sum += f(a + ((b - a) * (i + 0.5)) / parts);
  return sum / parts;
}

describe.each(Object.entries(CURVES))('%s', (_, { f, make }) => {
  it('gives the mean of the curve from sample to sample', () => {
    fc.assert(
      fc.property(anyX, anyX, (a, b) => {
        const bent = f64x2.extract_lane(make().run(f64x2(a, b)), 1);
        close(bent, mean(f, a, b), {
          abs: 1e-4,
          unit: '',
          why: 'each corner inside one of 4000 parts, up to 60 wide in all, adds up to 60/(8 x 4000^2)',
        });
      }),
      runs(50),
    );
  });

  it('gives the curve itself where the samples hardly move', () => {
    fc.assert(
      fc.property(anyX, fc.constantFrom(0, 1e-12, 1e-9, -1e-7, 3e-6), (x, way) => {
        const bent = f64x2.extract_lane(make().run(f64x2(x, x + way)), 1);
        close(bent, f(x + way / 2), {
          abs: 2e-6,
          unit: '',
          why: 'half a way of 3e-6 at a corner; rounding of the difference is below that',
        });
      }),
    );
  });
});
