// Strokes that are heard as one, by hand.

import { describe, expect, it } from 'vitest';
import { burstsOf } from '../../../src/measure/hits/bursts.ts';

describe('burstsOf', () => {
  it('puts strokes together that follow one another within 30 ms', () => {
    const strokes = [0, 0.012, 0.04, 0.1, 0.131, 0.2, 0.222].map((time) => ({ time }));
    expect(burstsOf(strokes).map((burst) => burst.map(({ time }) => time))).toEqual([
      [0, 0.012, 0.04],
      [0.1],
      [0.131],
      [0.2, 0.222],
    ]);
  });

  it('has none for none', () => {
    expect(burstsOf([])).toEqual([]);
  });
});
