// Hits of a recording, as an onset detector gives them, on the steps that they were played on.

import { describe, expect, it } from 'vitest';
import { type HeardHit, hitsMusic } from '../../src/tab/hits-music.ts';
import { transcribe } from '../../src/tab/transcribe.ts';

/** s of scatter by turns, as of a steady hand. */
const SCATTER = [0.003, -0.004, 0.002, 0.005, -0.003, 0, -0.005, 0.001];

/** Hits at quarter notes of a tempo, with a start and a scatter; levels are dB. */
function hits(at: readonly (readonly [at: number, level?: number])[], bpm: number): HeardHit[] {
  return at.map(([quarters, level = -12], index) => ({
    time: 0.7 + (quarters * 60) / bpm + (SCATTER[index % SCATTER.length] as number),
    peakDbfs: level,
  }));
}

function signs(heard: readonly HeardHit[], bpm: number) {
  const tab = transcribe(hitsMusic(heard, bpm));
  const steps = tab.patterns.map(({ lines }) =>
    (lines[0]?.steps ?? []).map((step) => step?.strength[0] ?? '-').join(''),
  );
  return { tab, steps };
}

describe('the hits of a recording', () => {
  it('are put on sixteenths, loud ones accents and soft ones ghost strokes', () => {
    const played = hits([[0, -6], [0.5], [1], [1.75, -24], [2, -6], [2.5], [3], [3.5]], 96);
    const { tab, steps } = signs(played, 96);
    expect(tab.misfits).toEqual([]);
    expect(steps).toEqual(['a-p-p--ga-p-p-p-']);
  });

  it('tell triplets from sixteenths', () => {
    const thirds = Array.from({ length: 12 }, (_, n) => [n / 3] as const);
    expect(signs(hits(thirds, 110), 110).tab.patterns[0]?.stepsPerQuarter).toBe(3);
  });

  it('tell the swing to half a percent and the scatter', () => {
    // Off-steps at 62 % of pairs of sixteenths.
    const swung = Array.from(
      { length: 16 },
      (_, n) => [Math.floor(n / 2) / 2 + (n % 2) * 0.31] as const,
    );
    const [pattern] = signs(hits(swung, 90), 90).tab.patterns;
    expect(pattern?.stepsPerQuarter).toBe(4);
    expect(Math.abs((pattern?.share ?? 0) - 0.62)).toBeLessThan(0.015);
  });

  it('list what is far off by bar and beat', () => {
    const straight = Array.from({ length: 16 }, (_, n) => [n / 2 + (n === 11 ? 0.07 : 0)] as const);
    const { tab } = signs(hits(straight, 100), 100);
    expect(tab.misfits).toHaveLength(1);
    // The twelfth eighth: on the second half of beat 2 of the second bar, 42 ms and its scatter late.
    expect(tab.misfits[0]).toMatchObject({ line: 'hit', bar: 2 });
    expect(tab.misfits[0]?.beat).toBeCloseTo(2.57, 1);
    expect(tab.misfits[0]?.late).toBeCloseTo(0.045, 2);
  });

  it('are refused where there are none', () => {
    expect(() => hitsMusic([], 120)).toThrow('no hits');
  });
});
