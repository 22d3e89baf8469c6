// Times against quarters and bars, there and back, and against the song's own count of bars.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { leastCommonMultiple } from '../../src/modules/dsp/extremes.ts';
import { Ruler } from '../../src/timing/ruler.ts';
import { barTimes } from '../../src/timing/song.ts';
import { close } from '../close.ts';
import { pattern, settings } from './build.ts';

const rounding = { abs: 1e-9, unit: 's', why: 'a few sums of doubles of some thousand seconds' };

describe('the ruler', () => {
  const song = settings(
    [pattern(['x'.repeat(16)]), pattern(['x'.repeat(9)], { stepsPerQuarter: 3, tempo: 90 })],
    { 'count-in': 1 },
  );

  it('knows where quarters are through tempo changes and a count-in', () => {
    // A bar at 120 bpm to count in, four quarters at 120, three at 90, and again.
    const ruler = new Ruler(song);
    const found = [-4, 0, 2, 4, 5, 7, 11].map((quarters) => ruler.timeOf(quarters));
    const exact = [0, 2, 3, 4, 4 + 2 / 3, 6, 8];
    found.forEach((time, i) => {
      close(time, exact[i] as number, rounding);
    });
    exact.forEach((time, i) => {
      close(ruler.quartersAt(time), [-4, 0, 2, 4, 5, 7, 11][i] as number, rounding);
    });
  });

  it('goes there and back, and agrees with the song on bars', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 3 }),
        fc.integer({ min: 1, max: 16 }),
        fc.double({ min: -3, max: 1000, noNaN: true }),
        fc.integer({ min: 1, max: 300 }),
        (countIn, beats, quarters, bar) => {
          const some = { ...song, 'count-in': countIn, 'beats-per-bar': beats };
          const ruler = new Ruler(some);
          close(ruler.quartersAt(ruler.timeOf(quarters)), quarters, rounding);
          close(ruler.timeOfBar(bar), barTimes(some)(bar), rounding);
        },
      ),
    );
  });

  it('of a song without a step goes by the tempo of the module', () => {
    expect(new Ruler({ ...song, song: [] }).timeOf(8)).toBe(4);
  });
});

describe('lengths meet again', () => {
  // Least common multiples by hand.
  it.each([
    [[16, 3], 48],
    [[16, 6], 48],
    [[12, 8, 5], 120],
    [[7], 7],
    [[], 1],
  ])('%j after %i', (lengths, after) => {
    expect(leastCommonMultiple(lengths)).toBe(after);
  });
});
