// The search against functions whose minimum is known beforehand.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Descent, descend } from '../../src/fit/descend.ts';
import { type BestPlace, climb, polish, type Search, scan } from '../../src/fit/search.ts';
import { close } from '../close.ts';

async function searched(
  value: (place: readonly number[]) => number,
  bounds: Search['bounds'],
  most = 300,
): Promise<BestPlace & { tries: number; axes: readonly number[]; outside: number }> {
  let tries = 0;
  let outside = 0;
  const search: Search = {
    bounds,
    evaluate: (place) => {
      tries++;
      if (
        place.some((one, axis) => one < (bounds[axis]?.low ?? 0) || one > (bounds[axis]?.high ?? 0))
      )
        outside++;
      return Promise.resolve(value(place));
    },
    isOver: () => tries >= most,
  };
  const start = bounds.map(({ low, high }) => low + 0.9 * (high - low));
  const { axes, ...found } = await scan(search, start);
  return { ...(await polish(search, found, axes)), tries, axes, outside };
}

describe('the search', () => {
  it('finds the foot of any sum of magnitudes in its bounds, and looks nowhere else', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(
          fc.tuple(
            fc.double({ min: -3, max: 3, noNaN: true }),
            fc.double({ min: 1, max: 10, noNaN: true }),
          ),
          {
            minLength: 1,
            maxLength: 3,
          },
        ),
        async (axes) => {
          const found = await searched(
            (place) =>
              axes.reduce(
                (sum, [foot, slope], axis) =>
                  sum + slope * Math.abs((place[axis] as number) - foot),
                0,
              ),
            axes.map(() => ({ low: -4, high: 4 })),
          );
          expect(found.outside).toBe(0);
          axes.forEach(([foot], axis) => {
            close(found.place[axis], foot, {
              abs: 0.03,
              unit: '',
              why: 'a distance is a mean of magnitudes, with a sharp foot: 3 % is finer than a dial is set',
            });
          });
        },
      ),
      { numRuns: 30 },
    );
  });

  it('follows a slanting valley, where the coordinates lean on one another', async () => {
    const found = await searched(
      ([x = 0, y = 0]) => Math.hypot(x + y - 1, 0.2 * (x - y + 2)),
      [
        { low: -5, high: 5 },
        { low: -5, high: 5 },
      ],
    );
    // x + y = 1 and x - y = -2.
    close(found.place[0], -0.5, { abs: 0.05, unit: '', why: 'finer than a dial is set' });
    close(found.place[1], 1.5, { abs: 0.05, unit: '', why: 'finer than a dial is set' });
  });

  it('stays at a bound behind which the foot lies', async () => {
    const found = await searched(([x = 0]) => Math.abs(x + 9), [{ low: -2, high: 2 }]);
    expect(found.place).toEqual([-2]);
  });

  it('leaves what makes no difference', async () => {
    const found = await searched(
      ([x = 0]) => x * x,
      [
        { low: -2, high: 2 },
        { low: 0, high: 1 },
      ],
    );
    expect(found.axes).toEqual([0]);
    expect(found.place[1]).toBe(0.9);
  });

  it('ends when it is told to', async () => {
    const { tries } = await searched(([x = 0]) => x * x, [{ low: -2, high: 2 }], 5);
    expect(tries).toBeLessThanOrEqual(6);
  });
});

describe('a climb of many coordinates', () => {
  const climbed = async (
    value: (place: readonly number[]) => number,
    start: readonly number[],
    bounds = { low: -4, high: 4 },
    most = 2000,
  ) => {
    let tries = 0;
    let outside = 0;
    const search: Search = {
      bounds: start.map(() => bounds),
      evaluate: (place) => {
        tries++;
        if (place.some((one) => one < bounds.low || one > bounds.high)) outside++;
        return Promise.resolve(value(place));
      },
      isOver: () => tries >= most,
    };
    const axes = [...start.keys()];
    const found = await climb(search, { place: start, value: value(start) }, axes);
    return { ...found, tries, outside };
  };

  // Standard test functions of minimisers, whose least values are 0 (from memory): the sphere and
  // H. H. Rosenbrock's valley, Computer Journal 3 (1960) 175-184.
  it('finds the foot of a sphere of twelve coordinates, in some 25 tries for each', async () => {
    const foot = Array.from({ length: 12 }, (_, axis) => 0.3 * axis - 2);
    const found = await climbed(
      (place) => place.reduce((sum, one, axis) => sum + (one - (foot[axis] as number)) ** 2, 0),
      foot.map(() => 1),
    );
    found.place.forEach((one, axis) => {
      close(one, foot[axis] as number, {
        abs: 0.08,
        unit: '',
        why: 'what it gains by at least is 0.005, the square of 0.07',
      });
    });
    expect(found.tries).toBeLessThan(300);
    expect(found.axes).toHaveLength(12);
  });

  it('comes down into a bent valley, where a step of one coordinate alone gains little', async () => {
    const valley = ([x = 0, y = 0]: readonly number[]) => 100 * (y - x * x) ** 2 + (1 - x) ** 2;
    const found = await climbed(valley, [-1.2, 1]);
    close(valley([-1.2, 1]), 24.2, { abs: 5e-7, unit: '', why: 'rounding' });
    // In the valley itself, not at its end: y - x^2 is next to nothing there.
    expect(found.value).toBeLessThan(6);
    const [x, y] = found.place as [number, number];
    close(y, x * x, { abs: 0.1, unit: '', why: 'in the valley itself, not at its end' });
  });

  it('stays in its bounds, and leaves what makes no difference', async () => {
    const found = await climbed(([x = 0]) => Math.abs(x + 9), [1, 1]);
    expect(found.place).toEqual([-4, 1]);
    expect(found.axes).toEqual([0]);
    expect(found.outside).toBe(0);
  });

  it('ends when it is told to', async () => {
    const { tries } = await climbed(([x = 0]) => x * x, [3, 3], { low: -4, high: 4 }, 5);
    expect(tries).toBeLessThanOrEqual(6);
  });
});

describe('the way down by what each coordinate does to every part', () => {
  /** Parts that are sums of the coordinates' ways from their feet, none of them a coordinate's own. */
  const mixed = (feet: readonly number[], parts: number) => {
    const slope = (part: number, axis: number): number => Math.cos(1 + part * (axis + 1));
    const left = (place: readonly number[]): Float64Array =>
      new Float64Array(parts).map((_, part) =>
        feet.reduce(
          (sum, foot, axis) => sum + slope(part, axis) * ((place[axis] as number) - foot),
          0,
        ),
      );
    const weights = new Float64Array(parts).fill(1 / parts);
    const value = (place: readonly number[]): number =>
      left(place).reduce((sum, one) => sum + Math.abs(one) / parts, 0);
    return { left, weights, value };
  };
  const descended = async (
    feet: readonly number[],
    start: readonly number[],
    { left, weights, value } = mixed(feet, 60),
  ) => {
    let tries = 0;
    let outside = 0;
    const bounds = start.map(() => ({ low: -3, high: 3 }));
    const search: Descent = {
      bounds,
      evaluate: (place) => {
        tries++;
        if (place.some((one) => Math.abs(one) > 3)) outside++;
        return Promise.resolve(value(place));
      },
      residuals: (place) => Promise.resolve({ left: left(place), weights }),
      isOver: () => false,
    };
    const from = { place: start, value: value(start) };
    return { ...(await descend(search, from, [...start.keys()])), tries, outside };
  };

  it('finds the foot of what is mixed, in some 10 tries for each coordinate', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.integer({ min: -200, max: 200 }), { minLength: 1, maxLength: 8 }),
        async (hundredths) => {
          const feet = hundredths.map((one) => one / 100);
          const found = await descended(
            feet,
            feet.map(() => 0),
          );
          // A round that gains less than 0.02 is the last.
          expect(found.value).toBeLessThan(0.03);
          expect(found.outside).toBe(0);
          expect(found.tries).toBeLessThanOrEqual(10 * feet.length + 20);
        },
      ),
    );
  });

  it('leaves what makes no difference, and ends at a bound that keeps it from the foot', async () => {
    const one = mixed([5], 40);
    const found = await descended([5], [0, 0], { ...one });
    expect(found.place).toEqual([3, 0]);
    expect(found.axes).toEqual([0]);
  });
});
