// The curves against the textbook's formulas, and their integrals against sums of rectangles.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type Curve,
  Folding,
  folded,
  foldedIntegral,
  Rectification,
  rectified,
  rectifiedIntegral,
  Saturation,
} from '../../../src/modules/dsp/curves.ts';
import { clipped } from '../../../src/modules/dsp/soft-clip.ts';
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
        const samples = Float64Array.of(a, b);
        make().bend(samples);
        close(samples[1] as number, mean(f, a, b), {
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
        const samples = Float64Array.of(x, x + way);
        make().bend(samples);
        close(samples[1] as number, f(x + way / 2), {
          abs: 2e-6,
          unit: '',
          why: 'half a way of 3e-6 at a corner; rounding of the difference is below that',
        });
      }),
    );
  });
});

it('folded and rectified are those curves, and their integrals begin at 0', () => {
  fc.assert(
    fc.property(anyX, (x) => {
      const why = 'rounding of angles up to 30 x pi/2';
      const fold = CURVES.folding?.f as (x: number) => number;
      close(folded(x), fold(x), {
        abs: 1e-7,
        unit: '',
        why: `${why}, magnified where asin is steep`,
      });
      expect(rectified(x, LIMIT)).toBe(Math.min(Math.abs(x), LIMIT));
      close(foldedIntegral(x), x * mean(fold, 0, x), { abs: 2e-3, unit: '', why: 'rectangles' });
      const area = x * mean((at) => rectified(at, LIMIT), 0, x);
      close(rectifiedIntegral(x, LIMIT), area, { abs: 1e-3, unit: '', why: 'rectangles' });
    }),
    runs(30),
  );
});

describe('the soft clip', () => {
  it('takes 4 x^3/27 away up to 1.5, and all beyond 1 from there', () => {
    fc.assert(
      fc.property(anyX, (x) => {
        const f = Math.abs(x) <= 1.5 ? x - (4 * x ** 3) / 27 : Math.sign(x);
        close(x - clipped(x), f, { abs: 1e-12, unit: '', why: 'rounding' });
      }),
    );
  });

  it('joins without a step or a corner', () => {
    for (const sign of [1, -1]) {
      const near = (d: number): number => {
        const x = sign * (1.5 + d);
        return x - clipped(x);
      };
      close(near(-1e-9), near(1e-9), { abs: 1e-12, unit: '', why: 'the slope there is 0' });
    }
  });
});
