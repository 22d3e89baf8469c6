// Tempo and swing from onsets computed by hand: step n of a straight pattern falls at n 60/(bpm steps).

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { estimateTempo } from '../../../src/measure/hits/tempo.ts';
import { close } from '../../close.ts';
import { runs } from '../../runs.ts';

/** Times of the hits of a pattern in sixteenths, the off-step coming at `swing` % of a pair. */
function times(pattern: string, bpm: number, options: { swing?: number; bars?: number } = {}) {
  const { swing = 50, bars = 4 } = options;
  const steps = pattern.replaceAll(' ', '');
  const pair = 60 / bpm / 2;
  const found: number[] = [];
  for (let n = 0; n < bars * steps.length; n++) {
    if (steps[n % steps.length] === '-') continue;
    found.push(0.3 + Math.floor(n / 2) * pair + (n % 2 === 1 ? (pair * swing) / 100 : 0));
  }
  return found;
}

const estimate = (onsets: readonly number[]) =>
  estimateTempo(
    onsets,
    onsets.map(() => 1),
  );

const PATTERNS = [
  'x-x-X-x- x-xxX-x-',
  'xxxx xxxx xxxx xxxx',
  'x--x --x- x--x x-xx',
  'x--- x-x- --x- x--x',
];

describe('tempo', () => {
  it.each(PATTERNS)('of %s at any tempo', (pattern) => {
    for (const bpm of [75, 92, 110, 128, 140]) {
      const tempo = estimate(times(pattern, bpm));
      close(tempo?.bpm as number, bpm, { rel: 1e-4, unit: 'bpm', why: 'exact onsets: a fit' });
      expect(tempo?.stepsPerQuarter).toBe(4);
      close(tempo?.swingPercent as number, 50, { abs: 0.1, unit: '%', why: 'exact onsets' });
    }
  });

  it.each([54, 58, 62, 66.667])('sees a swing of %f %', (swing) => {
    for (const pattern of PATTERNS.slice(0, 3)) {
      const tempo = estimate(times(pattern, 92, { swing }));
      close(tempo?.bpm as number, 92, { rel: 1e-4, unit: 'bpm', why: 'exact onsets: a fit' });
      close(tempo?.swingPercent as number, swing, { abs: 0.2, unit: '%', why: 'exact onsets' });
    }
  });

  it('gives no swing under half, wherever the hits begin', () => {
    // The longer step comes first: 42.5 % of a pair that begins with the off-step is 57.5 % of one.
    const early = times('xxxx xxxx xxxx xxxx', 92, { swing: 57.5 }).slice(1);
    for (const onsets of [early, times('-xxx xxxx xxxx xxxx', 92, { swing: 57.5 })]) {
      close(estimate(onsets)?.swingPercent as number, 57.5, {
        abs: 0.3,
        unit: '%',
        why: 'exact onsets',
      });
    }
    const pushed = times('xxxx xxxx xxxx xxxx', 92, { swing: 42.5 });
    close(estimate(pushed)?.swingPercent as number, 57.5, { abs: 0.3, unit: '%', why: 'the same' });
  });

  it('bears onsets 2 ms early or late', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -0.002, max: 0.002, noNaN: true }), {
          minLength: 64,
          maxLength: 64,
        }),
        (shifts) => {
          const onsets = times('xxxx xxxx xxxx xxxx', 96, { swing: 58 });
          const tempo = estimate(onsets.map((time, k) => time + (shifts[k] as number)));
          // 64 hits over 10 s: sd 1.2 ms/(10 s/sqrt(12) sqrt(64)) is 0.05 % even for the worst shifts.
          close(tempo?.bpm as number, 96, {
            rel: 0.001,
            unit: 'bpm',
            why: 'least squares over 10 s',
          });
          close(tempo?.swingPercent as number, 58, {
            abs: 1.3,
            unit: '%',
            why: 'all on-steps early and all off-steps late by 2 ms would be 1.3 % of a pair of 313 ms',
          });
        },
      ),
      runs(20),
    );
  });

  it('follows ten minutes without drifting off', () => {
    const tempo = estimate(times('x-x-X-x- x-xxX-x-', 92.37, { bars: 230 }));
    close(tempo?.bpm as number, 92.37, { rel: 1e-6, unit: 'bpm', why: 'exact onsets over 600 s' });
    expect(tempo?.onGrid).toBe(1);
  });

  it('does not count the grace notes of flams', () => {
    const strokes = times('x--- x--- x--- x-x-', 100).flatMap((time) => [time - 0.022, time]);
    const powers = strokes.map((_, k) => (k % 2 === 0 ? 0.2 : 1));
    const tempo = estimateTempo(strokes, powers);
    close(tempo?.bpm as number, 100, { rel: 1e-4, unit: 'bpm', why: 'the main strokes are exact' });
    expect(tempo?.onGrid).toBe(1);
  });

  it.each([
    ['drags', [0.026, 0.052]],
    ['ruffs', [0.022, 0.044, 0.066]],
  ])('does not count those of %s', (_, graces) => {
    for (const bpm of [80, 92, 100, 125, 138])
      for (const swing of [50, 58, 66]) {
        const steps = times('d-xx x-x- d-xx x-x-', bpm, { swing });
        const drags = times('d--- ---- d--- ----', bpm, { swing });
        const strokes = [
          ...steps.map((time) => ({ time, power: 1 })),
          // 6 dB softer.
          ...drags.flatMap((time) => graces.map((early) => ({ time: time - early, power: 0.25 }))),
        ].sort((a, b) => a.time - b.time);
        const tempo = estimateTempo(
          strokes.map(({ time }) => time),
          strokes.map(({ power }) => power),
        );
        close(tempo?.bpm as number, bpm, { rel: 1e-3, unit: 'bpm', why: 'exact main strokes' });
        close(tempo?.swingPercent as number, swing, { abs: 0.5, unit: '%', why: 'the same' });
      }
  });

  it('names quarters as one step each', () => {
    expect(estimate(times('x--- x--- x--- x---', 120))).toMatchObject({ stepsPerQuarter: 1 });
  });

  it('is unknown for fewer than five hits', () => {
    expect(estimate(times('x--- x--- x--- x---', 120, { bars: 1 }))).toBeNull();
    expect(estimate([])).toBeNull();
  });

  it('is unknown for hits that follow no grid', () => {
    // Gaps that grow by the golden ratio modulo one: no two fit a grid together.
    let time = 0;
    const onsets = Array.from({ length: 40 }, (_, k) => {
      time += 0.1 + 0.5 * ((k * 0.6180339887498949) % 1) + 0.13 * ((k * k * 0.7548776662) % 1);
      return time;
    });
    expect(estimate(onsets)?.reliability ?? 0).toBeLessThan(0.5);
  });
});
