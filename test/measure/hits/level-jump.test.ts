// Jumps in levels that are made of straight lines and Gaussian fluctuation, so that the step and its
// standard error are known beforehand.

import { describe, expect, it } from 'vitest';
import { type Jump, jumpOf, MARGIN, MOST } from '../../../src/measure/hits/level-jump.ts';
import { close } from '../../close.ts';
import { gaussian } from '../synthesis.ts';

/** Two bands that fall by 0.3 dB a millisecond, jump at the middle, and waver. */
function levels(step: number, waver: number, seed: string): Float64Array[] {
  const next = gaussian(seed);
  return [0, 1].map((band) =>
    new Float64Array(2 * MARGIN + 1).map((_, n) => {
      const jump = n < MARGIN ? 0 : n === MARGIN ? step / 2 : step;
      return -10 * band - 0.3 * n + jump + waver * next();
    }),
  );
}

function found(step: number, waver: number, seed: string, before = MOST, after = MOST): Jump {
  const jump = jumpOf({
    levels: levels(step, waver, seed),
    least: [0.1, 0.1],
    near: MARGIN,
    before,
    after,
  });
  if (jump === null) throw new Error('no jump');
  return jump;
}

const SEEDS = Array.from({ length: 300 }, (_, k) => `jump ${k}`);

describe('jumpOf', () => {
  it('tells a step in standard errors of two regressions', () => {
    // The variance of either line where they meet is s^2 (1/n + (n + 1)^2/4/(n (n^2 - 1)/12)), about
    // 4 s^2/n; two bands that waver on their own have half of it.
    const share = 1 / 24 + 12.5 ** 2 / ((24 * (24 ** 2 - 1)) / 12);
    const expected = 8 / Math.sqrt((2 * share) / 2);
    const mean = SEEDS.reduce((sum, seed) => sum + found(8, 1, seed).deviations, 0) / SEEDS.length;
    close(mean, expected, {
      rel: 0.1,
      unit: 'standard errors',
      why: 'residuals of 48 levels tell their spread to 10 %, and neighbours seem alike by chance',
    });
  });

  it('finds where it is', () => {
    const off = SEEDS.filter((seed) => Math.abs(found(8, 1, seed).at - MARGIN) > 1);
    expect(off.length).toBeLessThan(SEEDS.length / 50);
    expect(found(8, 0.01, '').at).toBe(MARGIN);
  });

  it('sees a sharp step, and no growth after it', () => {
    const { sharpness, growth } = found(20, 0.01, '');
    // Between the two levels before, and the two after, the lines fall by 0.9 dB.
    close(sharpness, 19.1 / 20, { abs: 0.01, unit: '', why: 'the wavering' });
    // From levels 1 to 3 after it to levels 4 to 10: 5 levels on.
    close(growth, -1.5, { abs: 0.05, unit: 'dB', why: 'the wavering' });
  });

  it('is no surer of a fall than chance allows, however steep', () => {
    for (const waver of [0.5, 1.5, 4]) {
      const most = Math.max(...SEEDS.map((seed) => found(0, waver, seed).deviations));
      // Of 300 the largest of a normal spread is 3; the best of five places and three series is more.
      expect(most).toBeLessThan(5);
    }
  });

  it('is less sure where levels waver together', () => {
    const smooth = (level: Float64Array) =>
      level.map((x, n) => (n === 0 ? x : (x + (level[n - 1] as number)) / 2));
    let surer = 0;
    for (const seed of SEEDS.slice(0, 50)) {
      const alone = jumpOf({
        levels: levels(0, 2, seed),
        least: [0.1, 0.1],
        near: MARGIN,
        before: MOST,
        after: MOST,
      });
      const together = jumpOf({
        levels: levels(0, 2, seed).map(smooth),
        least: [0.1, 0.1],
        near: MARGIN,
        before: MOST,
        after: MOST,
      });
      if (Math.abs(together?.deviations ?? 0) > 1.5 * Math.abs(alone?.deviations ?? 0) + 1) surer++;
    }
    expect(surer).toBeLessThan(10);
  });

  it('is none where too few levels come before', () => {
    expect(
      jumpOf({ levels: levels(8, 1, ''), least: [1, 1], near: MARGIN, before: 3, after: MOST }),
    ).toBeNull();
  });
});
