import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Point } from '../../../src/output/chart/lines.ts';
import { straightened } from '../../../src/output/chart/straightened.ts';
import { close } from '../../close.ts';

/** The height of a line at x, by linear interpolation; null in a gap. */
function heightAt(line: readonly Point[], x: number): number | null {
  for (let i = 0; i < line.length; i++) {
    const [x0, y0] = line[i] as Point;
    if (x0 === x) return y0;
    const [x1, y1] = line[i + 1] ?? [x0, null];
    if (x0 < x && x < x1)
      return y0 === null || y1 === null ? null : y0 + ((y1 - y0) * (x - x0)) / (x1 - x0);
  }
  return null;
}

const heights = fc.array(
  fc.oneof(
    { weight: 9, arbitrary: fc.double({ min: -80, max: 0, noNaN: true }) },
    { weight: 1, arbitrary: fc.constant(null) },
  ),
  { maxLength: 60 },
);

describe('straightened', () => {
  it('passes every point within the tolerance, gaps staying gaps (its definition)', () => {
    fc.assert(
      fc.property(heights, fc.double({ min: 0.01, max: 40, noNaN: true }), (ys, tolerance) => {
        const points = ys.map((y, index): Point => [0.5 * index, y]);
        const line = straightened(points, tolerance);
        for (const [x, y] of points) {
          const height = heightAt(line, x);
          if (y === null || height === null) expect(height).toBe(y);
          else
            close(height, y, {
              abs: tolerance + 1e-9,
              unit: '',
              why: 'beside the tolerance, rounding of numbers up to 80',
            });
        }
      }),
    );
  });

  it('keeps only points that were there, in their order, the first and the last among them', () => {
    fc.assert(
      fc.property(heights, (ys) => {
        const points = ys.map((y, index): Point => [index, y]);
        const line = straightened(points, 3);
        const places = line.map(([x]) => x);
        expect(line).toEqual(places.map((x) => points[x]));
        expect(places).toEqual([...new Set(places)].sort((a, b) => a - b));
        expect([line[0], line.at(-1)]).toEqual([points[0], points.at(-1)]);
      }),
    );
  });

  it('leaves two points of a straight line, and the corner of a bent one', () => {
    const bent = Array.from({ length: 21 }, (_, x): Point => [x, Math.abs(x - 10)]);
    expect(straightened(bent.slice(0, 11), 0.1)).toEqual([
      [0, 10],
      [10, 0],
    ]);
    expect(straightened(bent, 0.1)).toEqual([
      [0, 10],
      [10, 0],
      [20, 10],
    ]);
  });
});
