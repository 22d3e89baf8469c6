// Editing drum tab, and places of the loop in words.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { barShares, beatBefore, decibels, whereWords } from '../../../src/page/pieces/where.ts';
import {
  grouped,
  nextSign,
  SIGNS,
  signOfKey,
  withSign,
} from '../../../src/page/ui/pattern/tab-line.ts';
import { TAB_PATTERN } from '../../../src/patch/score/tab.ts';

const line = fc
  .array(fc.constantFrom(...Object.keys(SIGNS)), { minLength: 1, maxLength: 40 })
  .map((signs) => signs.join(''));

describe('drum tab under the hand', () => {
  it('writes nothing but signs that a patch can have', () => {
    // The schema of the file is the judge.
    for (const sign of Object.keys(SIGNS)) expect(sign).toMatch(new RegExp(TAB_PATTERN, 'u'));
  });

  it('changes one step and no other', () => {
    fc.assert(
      fc.property(line, fc.nat(), (steps, where) => {
        const at = where % steps.length;
        const changed = withSign(steps, at, 'X');
        expect([...changed].every((sign, step) => sign === (step === at ? 'X' : steps[step]))).toBe(
          true,
        );
      }),
    );
  });

  it('groups by beats for the eye alone', () => {
    expect(grouped('x-x-X-x-x-x-x-x-x-x-', 4)).toBe('x-x- X-x- x-x- x-x- | x-x-');
    expect(grouped('x--x-', 3)).toBe('x-- x-');
    fc.assert(
      fc.property(line, fc.integer({ min: 1, max: 12 }), (steps, perQuarter) => {
        expect(grouped(steps, perQuarter).replace(/[ |]/g, '')).toBe(steps);
      }),
    );
  });

  it('goes round rest, hit and accent by clicks, and from any other sign to rest', () => {
    expect(['-', 'x', 'X', 'f', 'g', '4'].map(nextSign)).toEqual(['x', 'X', '-', '-', '-', '-']);
  });

  it('knows the keys of signs from others', () => {
    expect(['x', 'X', 'F', 'g', 'G', '8', '?', 'Delete'].map(signOfKey)).toEqual([
      'x',
      'X',
      'f',
      'g',
      'g',
      '8',
      '?',
      '-',
    ]);
    expect(['9', 'a', 'Tab', 'toString'].map(signOfKey)).toEqual([0, 0, 0, 0].map(() => undefined));
  });
});

describe('places of the loop', () => {
  // Two bars of 4/4 at 120 quarters a minute: 2 s each.
  const loop = { sampleRate: 48_000, frames: 192_000, bars: [0, 2], shortened: false };

  it('are told by bar and second', () => {
    expect(whereWords(0, loop)).toBe('bar 1, 0.00 s');
    expect(whereWords(0.5, loop)).toBe('bar 2, 2.00 s');
    expect(whereWords(0.99, { ...loop, bars: [] })).toBe('3.96 s');
    expect(barShares(loop)).toEqual([0, 0.5, 1]);
  });

  it('go from beat to beat for who wants little motion', () => {
    // Beats are eighths of this loop.
    expect([0, 0.124, 0.125, 0.3, 0.5, 0.999].map((share) => beatBefore(share, loop))).toEqual([
      0, 0, 0.125, 0.25, 0.5, 0.875,
    ]);
    expect(beatBefore(0.3, undefined)).toBe(0);
  });

  it('tells decibels with a real minus sign, and no minus nought', () => {
    expect([-6.25, 0, -0.04, 3].map((value) => decibels(value))).toEqual([
      '−6.3 dB',
      '0.0 dB',
      '0.0 dB',
      '3.0 dB',
    ]);
  });
});
