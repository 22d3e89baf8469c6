// Where strides lead, against the least squares that they stand for.

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { followed, strides } from '../../src/fit/strides.ts';
import { close } from '../close.ts';

const entry = fc.double({ min: -1, max: 1, noNaN: true });
/** A sum of squares of mixes of three coordinates, none of which leaves a direction out. */
const mixes = fc
  .array(fc.tuple(entry, entry, entry), { minLength: 4, maxLength: 8 })
  .map(
    (rows) => [[0.5, 0, 0], [0, 0.5, 0], [0, 0, 0.5], ...rows] as readonly (readonly number[])[],
  );
const matrixOf = (rows: readonly (readonly number[])[]): readonly Float64Array[] =>
  [0, 1, 2].map((j) =>
    Float64Array.from([0, 1, 2], (i) =>
      rows.reduce((sum, row) => sum + (row[j] as number) * (row[i] as number), 0),
    ),
  );
const squares = (rows: readonly (readonly number[])[], place: readonly number[]): number =>
  rows.reduce(
    (sum, row) => sum + row.reduce((all, one, k) => all + one * (place[k] as number), 0) ** 2,
    0,
  );
const WIDE = { low: -100, high: 100 };

it('has the others where they make up for most of a move', () => {
  fc.assert(
    fc.property(
      mixes,
      fc.nat(2),
      fc.double({ min: -0.1, max: 0.1, noNaN: true }),
      (rows, index, by) => {
        const place = [0, 0, 0];
        const rest = { place, bounds: [WIDE, WIDE, WIDE], free: [0, 1, 2], matrix: matrixOf(rows) };
        const moved = followed(rest, index, by);
        close(moved[index], by, { abs: 1e-12, unit: '', why: 'rounding' });
        // None of them does better a little to either side.
        const least = squares(rows, moved);
        for (const other of [0, 1, 2].filter((one) => one !== index))
          for (const step of [-1e-3, 1e-3]) {
            const beside = moved.with(other, (moved[other] as number) + step);
            expect(squares(rows, beside)).toBeGreaterThanOrEqual(least);
          }
      },
    ),
  );
});

it('stays in the bounds, moves only what may move, and has no place twice where it stands', () => {
  fc.assert(
    fc.property(mixes, fc.array(entry, { minLength: 3, maxLength: 3 }), (rows, place) => {
      const bounds = [
        { low: -1, high: 1 },
        { low: -1, high: 1 },
        { low: -1, high: 1 },
      ];
      const matrix = matrixOf(rows)
        .slice(0, 2)
        .map((row) => row.slice(0, 2));
      const places = strides({ place, bounds, free: [0, 2], matrix });
      for (const one of places) {
        expect(one[1]).toBe(place[1]);
        expect(one.every((value) => value >= -1 && value <= 1)).toBe(true);
        expect(one).not.toEqual(place);
      }
    }),
  );
});

it('moves one alone where the matrix says nothing of the others', () => {
  const matrix = [Float64Array.of(1, 0), Float64Array.of(0, 0)];
  const rest = { place: [0, 0], bounds: [WIDE, WIDE], free: [0, 1], matrix };
  expect(followed(rest, 0, 0.3)).toEqual([0.3, 0]);
});
