// The search of few settings against functions whose least value is known, and where a search of one after the other ends
// elsewhere.

import { describe, expect, it } from 'vitest';
import type { Descent } from '../../src/fit/descend.ts';
import { explore } from '../../src/fit/explore.ts';
import { close } from '../close.ts';

type Residuals = (place: readonly number[]) => readonly number[];

async function explored(residuals: Residuals, start: readonly number[], most = 400) {
  let tries = 0;
  const partsAt = (place: readonly number[]) => {
    const left = Float64Array.from(residuals(place));
    return { left, weights: new Float64Array(left.length).fill(1) };
  };
  const search: Descent = {
    bounds: start.map(() => ({ low: -4, high: 4 })),
    evaluate: async (place) => {
      tries++;
      return partsAt(place).left.reduce((sum, one) => sum + Math.abs(one), 0);
    },
    residuals: async (place) => partsAt(place),
    isOver: () => tries >= most,
  };
  const found = await explore(search, start, {
    ...{ mostSteps: 14, others: [], dials: [...start.keys()] },
    isScanned: () => tries >= most / 2,
    isDescended: () => tries >= most,
  });
  return { ...found, tries };
}

const FINE = { abs: 0.02, unit: '', why: '2 %: finer than a dial is set' };

describe('few settings', () => {
  // H. H. Rosenbrock's valley, Computer Journal 3 (1960) 175-184 (from memory), as the magnitudes of its two parts.
  it('come down a bent valley', async () => {
    const found = await explored(([x = 0, y = 0]) => [10 * (y - x * x), 1 - x], [-1.2, 1]);
    close(found.place[0], 1, FINE);
    close(found.place[1], 1, FINE);
  });

  it('leave a dip that the first range leads to', async () => {
    // Two resonances: that of the first coordinate is heard only where the second is right, so looked at first
    // it goes to its end, where it is silent, and the second makes no difference.
    const peak = (x: number, at: number): number => Math.exp(-((x - at) ** 2) / 0.5);
    const residuals: Residuals = ([loud = 0, tuned = 0]) =>
      Array.from({ length: 33 }, (_, k) => {
        const at = k / 4 - 4;
        return 10 * ((1 + loud / 4) * peak(at, tuned) - peak(at, 2));
      });
    const found = await explored(residuals, [0, -1]);
    close(found.place[0], 0, FINE);
    close(found.place[1], 2, FINE);
  });

  it('end when they are told to, and say what made a difference', async () => {
    const short = await explored(([x = 0, y = 0]) => [x - 1, y], [0, 0], 12);
    expect(short.tries).toBeLessThanOrEqual(14);
    const found = await explored(([x = 0]) => [x - 1], [0, 0.5]);
    expect(found.axes).toEqual([0]);
    expect(found.place[1]).toBe(0.5);
    close(found.place[0], 1, FINE);
  });
});
