// The descent on functions whose minima are published, and at bounds.

import { describe, expect, it } from 'vitest';
import { descended } from '../../../src/fit/built/descent.ts';
import { close } from '../../close.ts';

/** H. H. Rosenbrock, Computer Journal 3 (1960) 175-184 (from memory): lowest, 0, at (1, 1), in a bent valley. */
function rosenbrock([x = 0, y = 0]: Float64Array) {
  const across = y - x * x;
  return {
    value: 100 * across ** 2 + (1 - x) ** 2,
    gradient: Float64Array.of(-400 * x * across - 2 * (1 - x), 200 * across),
  };
}
const bounds = (low: number, high: number) => ({
  low: new Float64Array(2).fill(low),
  high: new Float64Array(2).fill(high),
});

describe('a descent', () => {
  it('comes to the end of a bent valley', () => {
    const { place, value } = descended(rosenbrock, Float64Array.of(-1.2, 1), {
      ...bounds(-5, 5),
      steps: 2000,
    });
    // The valley's floor rises by 0.01 a tenth from its end.
    expect(value).toBeLessThan(0.01);
    close(place[0], 1, {
      abs: 0.1,
      unit: '',
      why: "the valley's floor rises by 0.01 a tenth from its end",
    });
  });

  it('stays in its bounds, starts in them, and ends at the one that is in the way', () => {
    const plane = (at: Float64Array) => {
      for (const one of at) expect(Math.abs(one)).toBeLessThanOrEqual(2);
      return { value: at.reduce((sum, one) => sum + one, 0), gradient: Float64Array.of(1, 1) };
    };
    const { place } = descended(plane, Float64Array.of(7, 0), { ...bounds(-2, 2), steps: 60 });
    expect([...place]).toEqual([-2, -2]);
  });

  it('keeps the lowest place that it came through', () => {
    const values: number[] = [];
    const { value } = descended(
      (at) => {
        const slope = rosenbrock(at);
        values.push(slope.value);
        return slope;
      },
      Float64Array.of(-1.2, 1),
      { ...bounds(-5, 5), steps: 40 },
    );
    expect(value).toBe(values.reduce((least, one) => Math.min(least, one)));
  });
});
