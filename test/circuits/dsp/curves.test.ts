// The curves against the textbook's formulas, and their integrals against sums of rectangles.

import fc from 'fast-check';
import { describe, it } from 'vitest';
import '../shim.ts';
import { type Curve, Folding, Rectification, Saturation } from '../../../src/circuits/dsp/curves';
import { close } from '../../close.ts';
import { runs } from '../../runs.ts';
import { between } from '../cases.ts';

const LIMIT = 1.8;
/** Spread evenly: fast-check's own doubles crowd about 0. */
const anyX = fc.integer({ min: -30_000, max: 30_000 }).map((thousandths) => thousandths / 1000);

/**
 * Each curve by another formula, how to make one, and which mean it gives: 1 along a line between samples, 2
 * under a spline.
 */
const CURVES: Record<string, { f: (x: number) => number; make: () => Curve; ways: number }> = {
  saturation: { f: (x) => Math.sin(Math.atan(x)), make: () => new Saturation(), ways: 1 },
  folding: {
    ways: 2,
    f: (x) => (2 / Math.PI) * Math.asin(Math.sin((Math.PI * x) / 2)),
    make: () => new Folding(),
  },
  rectification: {
    ways: 2,
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

/** Cubic B-spline: any book on splines, such as de Boor's (from memory). */
function spline(t: number): number {
  const size = Math.abs(t);
  if (size >= 2) return 0;
  return size < 1 ? (4 - 6 * size ** 2 + 3 * size ** 3) / 6 : (2 - size) ** 3 / 6;
}

describe.each(Object.entries(CURVES))('%s', (_, { f, make, ways }) => {
  /** What it makes of samples, the first of them many times over. */
  const bent = (samples: readonly number[]): number[] => {
    const curve = make();
    const first = samples[0] as number;
    const all = [...Array.from({ length: 8 }, () => first), ...samples, 0];
    const out: number[] = [];
    for (let n = 0; n + 1 < all.length; n += 2) {
      const two = curve.run(f64x2(all[n] as number, all[n + 1] as number));
      out.push(f64x2.extract_lane(two, 0), f64x2.extract_lane(two, 1));
    }
    return out.slice(8);
  };

  it('gives the mean of the curve on the way of x', () => {
    fc.assert(
      fc.property(anyX, between(-0.7, 0.7), between(-0.02, 0.02), (start, speed, bend) => {
        // A parabola, on which x then goes exactly.
        const x = (t: number): number => start + speed * t + bend * t * t;
        const samples = Array.from({ length: 10 }, (_, n) => x(n));
        const n = 7;
        const wanted =
          ways === 1
            ? mean(f, x(n - 1), x(n))
            : 4 * mean((t) => f(x(t)) * spline(t - (n - 3)), n - 5, n - 1);
        close(bent(samples)[n] as number, wanted, {
          abs: 1e-5,
          unit: '',
          why: 'corners within one of 4000 parts',
        });
      }),
      runs(200),
    );
  });

  it('gives the curve itself where the samples hardly move', () => {
    fc.assert(
      fc.property(anyX, fc.constantFrom(0, 1e-12, 1e-9, -1e-7, 3e-6, -2e-5), (x, way) => {
        const samples = Array.from({ length: 10 }, (_, n) => x + n * way);
        close(bent(samples)[7] as number, f(x), {
          abs: 1e-6 + 8 * Math.abs(way),
          unit: '',
          why: 'so far it has gone meanwhile; rounding of the difference is below 1e-6',
        });
      }),
    );
  });
});
