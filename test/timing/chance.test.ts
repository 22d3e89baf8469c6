import { describe, expect, it } from 'vitest';
import { Chance } from '../../src/modules/dsp/random.ts';
import { close } from '../close.ts';
import { allStrokes, pattern, settings } from './build.ts';

const DRAWS = 20_000;

function drawsOf(seed: string, module: string, channel: string, count = DRAWS): number[] {
  const chance = new Chance(seed, module, channel);
  return Array.from({ length: count }, (_, step) => chance.draw(step));
}

describe('draws', () => {
  const draws = drawsOf('workshop', 'drums', 'hat');

  it('are spread evenly from 0 to 1', () => {
    expect(draws.every((x) => x >= 0 && x < 1)).toBe(true);
    // Uniform: mean 1/2, variance 1/12 (Abramowitz & Stegun 26.1.34, from memory). 5 sd of the mean.
    const mean = draws.reduce((sum, x) => sum + x, 0) / DRAWS;
    close(mean, 0.5, {
      abs: 5 * Math.sqrt(1 / 12 / DRAWS),
      unit: '',
      why: 'five standard deviations of the mean',
    });
    // Chi-square over 20 cells, 19 degrees of freedom: mean 19, sd sqrt(38); 5 sd above the mean.
    const cells = new Array<number>(20).fill(0);
    for (const x of draws) cells[Math.floor(20 * x)]! += 1;
    const expected = DRAWS / 20;
    const chi2 = cells.reduce((sum, n) => sum + (n - expected) ** 2 / expected, 0);
    expect(chi2).toBeLessThan(19 + 5 * Math.sqrt(38));
  });

  it.each([1, 2, 4, 8, 16, 63, 64, 65, 128])(
    '%d steps apart have nothing to do with each other',
    (lag) => {
      // The correlation of independent draws has sd 1/sqrt(n); 5 sd.
      const n = DRAWS - lag;
      let sum = 0;
      for (let i = 0; i < n; i++) sum += 12 * (draws[i]! - 0.5) * (draws[i + lag]! - 0.5);
      close(sum / n, 0, { abs: 5 / Math.sqrt(n), unit: '', why: 'five standard deviations' });
    },
  );

  it.each([
    ['seed', 'workshop2', 'drums', 'hat'],
    ['module', 'workshop', 'drum', 'shat'],
    ['channel', 'workshop', 'drums', 'hats'],
  ])('of another %s are others', (_, seed, module, channel) => {
    const others = drawsOf(seed, module, channel);
    const same = draws.reduce((sum, x, i) => sum + 12 * (x - 0.5) * (others[i]! - 0.5), 0);
    close(same / DRAWS, 0, {
      abs: 5 / Math.sqrt(DRAWS),
      unit: '',
      why: 'five standard deviations',
    });
  });

  it('depend on the step alone, not on which were asked for before', () => {
    const chance = new Chance('workshop', 'drums', 'hat');
    for (const step of [1000, 3, 64, 63, 1000, 19_999]) expect(chance.draw(step)).toBe(draws[step]);
  });
});

describe('chance', () => {
  const played = (text: string, chance: number, until = 100) =>
    allStrokes(settings([pattern([text])], { chance }), { until }).map(({ time }) => time);

  it('plays the share of strokes that it says', () => {
    const strokes = 100 / 0.125;
    close(played('?', 0.7).length, 0.7 * strokes, {
      abs: 5 * Math.sqrt(0.7 * 0.3 * strokes),
      unit: 'strokes',
      why: 'binomial: five standard deviations',
    });
    expect(played('?', 0)).toEqual([]);
    expect(played('?', 1)).toHaveLength(strokes);
  });

  it('of one step does not change when another step is edited', () => {
    const both = played('??--', 0.5);
    const one = played('?x--', 0.5);
    const first = (times: number[]) => times.filter((time) => time % 0.5 === 0);
    expect(first(both)).toEqual(first(one));
    expect(first(both).length).toBeGreaterThan(50);
  });

  it('is that of the step, else of the song, the pattern, the module', () => {
    const count = (more: object, entry: object, own: object) => {
      const one = pattern(['?'], more);
      const lines = one.lines.map((line) => ({
        ...line,
        steps: line.steps.map((step) => ({ ...step, ...own })),
      }));
      const song = settings([{ ...one, lines }], {
        chance: 0,
        song: [{ pattern: 0, repeats: 1, ...entry }],
      });
      return allStrokes(song, { until: 10 }).length;
    };
    expect(count({}, {}, {})).toBe(0);
    expect(count({ chance: 1 }, {}, {})).toBe(80);
    expect(count({ chance: 1 }, { chance: 0 }, {})).toBe(0);
    expect(count({ chance: 0 }, { chance: 0 }, { chance: 1 })).toBe(80);
  });
});
