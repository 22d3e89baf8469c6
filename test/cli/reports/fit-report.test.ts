// What a fit prints of values that are as good: rounded, and never so that the value it gave is not among them.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fitReport } from '../../../src/cli/reports/fit-report.ts';
import type { Fit, FittedSetting } from '../../../src/fit/fit.ts';
import type { Knob } from '../../../src/fit/settings.ts';

const KNOB = {
  ...{ path: 'shape.decay', module: 'shape', setting: 'decay', words: undefined, before: 0.1 },
  ...{ spec: { type: 'time' }, low: 0.0001, high: 10, isRatio: true },
} as unknown as Knob;

/** What is printed of a setting whose values from `low` to `high`, s, are as good as `after`. */
function printed(
  { after, low, high }: { after: number; low: number | null; high: number | null },
  pairs: Fit['pairs'] = [],
): string {
  const setting: FittedSetting = {
    ...{ knob: KNOB, after, riseDb: 0, isDecided: false, alike: { low, high } },
    ...{ matters: true, end: null },
  };
  const made = {
    ...{ settings: [setting], pairs, refused: [], kind: null, tries: 1, louderDb: 0 },
    ...{ shortfalls: [], distanceBefore: 1, distanceAfter: 1 },
  } as unknown as Fit;
  const recording = { used: 1, found: 1, chosen: { index: 0, time: 0 }, defects: [] };
  const told = {
    ...{ recording, channel: undefined, place: 'a.yaml', isUsual: false, wav: 'a.wav', left: [] },
  } as unknown as Parameters<typeof fitReport>[1];
  return fitReport(made, told);
}

function rowOf(after: number, low: number | null, high: number | null): string {
  const lines = printed({ after, low, high }).split('\n');
  return lines.find((line) => line.startsWith('shape.decay')) ?? '';
}

/** Times in a text, s. */
function timesIn(text: string): number[] {
  return [...text.matchAll(/([\d.]+) (s|ms|us|μs)\b/g)].map(
    ([, number, unit]) => Number(number) * ({ s: 1, ms: 1e-3 }[unit as string] ?? 1e-6),
  );
}

describe('values that are as good', () => {
  it('are rounded, but not past the fitted one', () => {
    expect(rowOf(0.156, 0.156, 0.183)).toMatch(/anything from 156 ms to 180 ms is as good/);
    expect(rowOf(0.154, 0.123, 0.154)).toMatch(/anything from 120 ms to 154 ms is as good/);
    expect(rowOf(0.09946, null, 0.09946)).toMatch(/anything under 99\.46 ms is as good/);
    expect(rowOf(0.1, 0.0512, 0.1999)).toMatch(/anything from 51 ms to 200 ms is as good/);
    expect(rowOf(0.1, null, null)).toMatch(/undecided: anything in its range is as good$/);
    expect(rowOf(0.2, null, null)).toMatch(
      /anything in its range is as near, and this the likeliest$/,
    );
  });

  it('have the fitted one among them, whatever it is', () => {
    const time = fc.double({ min: 0.001, max: 5, noNaN: true });
    fc.assert(
      fc.property(time, time, time, (a, b, c) => {
        const [low, after, high] = [a, b, c].toSorted((x, y) => x - y) as [number, number, number];
        const [least = 0, most = 0] = timesIn(rowOf(after, low, high).split('anything')[1] ?? '');
        // Six digits are printed.
        expect(least).toBeLessThanOrEqual(after * (1 + 1e-5));
        expect(most).toBeGreaterThanOrEqual(after * (1 - 1e-5));
      }),
    );
  });
});

describe('two settings that make up for one another', () => {
  const level = { ...KNOB, path: 'sum.level-1' };
  const words = (isSame: boolean): string =>
    printed({ after: 0.1, low: 0.05, high: 0.2 }, [{ knobs: [KNOB, level], isSame }]).replaceAll(
      /\s+/g,
      ' ',
    );

  it('are told, with which way', () => {
    expect(words(true)).toContain(
      'shape.decay and sum.level-1 make up for one another: with more of both, or less of both, it sounds as alike.',
    );
    expect(words(false)).toContain(
      'shape.decay and sum.level-1 make up for one another: with more of one and less of the other it sounds as alike.',
    );
    expect(printed({ after: 0.1, low: 0.05, high: 0.2 })).not.toContain('make up');
  });
});
