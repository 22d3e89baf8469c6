// The place that moves with the sound: which step of which pattern, and the words for it.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { signMarkup, signPaths } from '../../../src/output/sheet/step-sign.ts';
import type { LoopView, PlayedView, RhythmView } from '../../../src/page/protocol.ts';
import { playedAt, stepAt } from '../../../src/page/ui/pattern/played-at.ts';
import { SIGNS } from '../../../src/page/ui/pattern/tab-line.ts';
import { nextBar, placeWords } from '../../../src/page/ui/strip/places.ts';

function playing(start: number, more: Partial<PlayedView> = {}): PlayedView {
  const usual = { module: 'drums', pattern: 'groove', entry: 0, repeat: 0, repeats: 1 };
  return { ...usual, start, end: start + 2, step: 0.125, swing: 0.5, ...more };
}

describe('the step that plays', () => {
  it('is that of the grid, swung: the off-step comes at its share of the pair', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 15 }),
        fc.integer({ min: 50, max: 75 }),
        fc.integer({ min: 1, max: 99 }),
        (step, percent, share) => {
          const swing = percent / 100;
          const one = playing(3, { swing });
          // Where a step begins and how long it is, by the meaning of swing.
          const pair = 3 + Math.floor(step / 2) * 0.25;
          const [from, to] = step % 2 === 0 ? [0, swing] : [swing, 1];
          const at = pair + 0.25 * (from + ((to - from) * share) / 100);
          expect(stepAt(one, at)).toBe(step);
        },
      ),
    );
    // At its very beginning it has begun.
    expect([0, 1, 15].map((step) => stepAt(playing(0), step * 0.125))).toEqual([0, 1, 15]);
  });

  it('is looked for in the rhythm that is meant', () => {
    const all = [playing(0), playing(2, { entry: 1 }), playing(0, { module: 'bells' })];
    expect(playedAt(all, 1, 'bells')).toBe(all[2]);
    expect(playedAt(all, 2, 'drums')).toBe(all[1]);
    expect(playedAt(all, 4, 'drums')).toBe(undefined);
  });
});

describe('the words for a place', () => {
  const loop: LoopView = {
    sampleRate: 48_000,
    frames: 4 * 48_000,
    bars: [0, 2],
    shortened: true,
    start: 72,
    firstBar: 37,
    played: [
      playing(0, { pattern: 'answer', entry: 8, repeat: 1, repeats: 4 }),
      playing(2, { entry: 9 }),
    ],
  };
  const rhythm = { module: 'drums', entries: Array(10) } as unknown as RhythmView;

  it('are bars and seconds of the song, and its own names', () => {
    expect(placeWords(0.25, loop, rhythm)).toBe('bar 37, 73.00 s, answer (entry 9, 2 of 4)');
    expect(placeWords(0.5, loop, rhythm)).toBe('bar 38, 74.00 s, groove (entry 10)');
    // A pattern alone is counted from its own start.
    expect(placeWords(0.5, loop, undefined)).toBe('bar 2, 2.00 s');
    expect(nextBar(loop)).toBe(39);
  });
});

describe('the sign of a step', () => {
  const pieces = (...sign: Parameters<typeof signPaths>): string =>
    signPaths(...sign)
      .map(({ piece }) => piece)
      .join(' ');

  it('is another for each letter of drum tab, by its shape alone', () => {
    const all = Object.keys(SIGNS).map((sign) =>
      signPaths(sign)
        .map(({ d }) => d)
        .join(),
    );
    expect(new Set(all).size).toBe(Object.keys(SIGNS).length);
    expect(pieces('x')).toBe('body');
    expect(pieces('X')).toBe('body pin pin');
    expect(pieces('-')).toBe('rest');
    expect(pieces('5')).toBe('body body body body body');
  });

  it('shows chance, flam and a gate of its own', () => {
    expect(pieces('x', { chance: 0.3, flam: true, gate: 0.5 })).toBe('open body body foot');
    // Never, and always: an outline alone, and a full one.
    expect(pieces('?', { chance: 0 })).toBe('open');
    const full = signPaths('x')[0]?.d;
    expect(signPaths('x', { chance: 1 }).map(({ d }) => d)).toEqual([full, full]);
  });

  it('stays within its step, and is harmless markup', () => {
    for (const sign of [...Object.keys(SIGNS), '<', 'é'])
      for (const mark of [{}, { chance: 0.5, flam: true as const, gate: 9 }]) {
        const markup = signMarkup(sign, mark);
        expect(markup).not.toMatch(/NaN|undefined|[<"]</);
        for (const [, x] of markup.matchAll(/M(-?[\d.]+) /g)) {
          expect(Number(x)).toBeGreaterThanOrEqual(0);
          expect(Number(x)).toBeLessThan(24);
        }
      }
  });
});
