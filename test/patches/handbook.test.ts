// Voices against what handbooks and papers publish about their drums. The modes of skins and
// bars are in modes.test.ts.

import { describe, it } from 'vitest';
import { patchFrom } from '../patch-of.ts';
import { expected, expectReference, reference } from '../reference.ts';
import {
  type Jacks,
  played,
  RATE,
  shareBetween,
  spectrumOf,
  strongest,
  withPart,
} from './listen.ts';

const USUAL: Jacks = { gate: 'gate.in', accent: 'accent.in', out: 'touch.out' };

/** One stroke without an accent. */
function stroke(part: string, jacks: Jacks = USUAL, seconds = 1): Float64Array {
  const [left] = played(patchFrom(withPart(part, jacks)), seconds);
  return left as Float64Array;
}

describe('published measures of drums', () => {
  const skin = reference('drums', 'S-drums-01');
  it.each([
    ['snare', { gate: 'gate.in', out: 'both.out' }],
    ['membrane-snare', USUAL],
  ] as const)(`%s: ${skin.what}`, (part, jacks) => {
    const lowest = strongest(spectrumOf(stroke(part, jacks)), 130, 260);
    expectReference(lowest, expected(skin, 'hz'), skin);
  });

  const swell = reference<{ low: number; high: number }>('drums', 'S-drums-02');
  it(`crash: ${swell.what}`, () => {
    const sound = stroke('crash');
    const { low, high } = swell.inputs;
    // Windows of 20 ms, the shortest that tells 3 kHz from what is below it; a step of 2 ms.
    const levels = Array.from({ length: 100 }, (_, n) => {
      const from = Math.round(0.002 * n * RATE);
      const piece = sound.subarray(from, from + 0.02 * RATE);
      const energy = piece.reduce((sum, value) => sum + value * value, 0);
      return energy * shareBetween(spectrumOf(piece), low, high);
    });
    // Of hiss each window is a little off: a mean of nine of them, 16 ms.
    const smooth = levels.map((_, n) => {
      const near = levels.slice(Math.max(0, n - 4), n + 5);
      return near.reduce((sum, one) => sum + one, 0) / near.length;
    });
    const loudest = smooth.indexOf(Math.max(...smooth));
    expectReference(0.002 * loudest + 0.01, expected(swell, 'seconds'), swell);
  });

  const hands = reference('drums', 'S-drums-03');
  it(`clap: ${hands.what}`, () => {
    expectReference(
      strongest(spectrumOf(stroke('clap')), 20, 20_000),
      expected(hands, 'hz'),
      hands,
    );
  });
});
