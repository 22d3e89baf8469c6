// Onsets of sequences whose hits are at known samples: down to 30 dB under the loudest, over a floor at
// -60 dB, from the first sample on. The bench goes through 200 of them, this through some.

import { describe, expect, it } from 'vitest';
import { compared, RATE, sequence } from '../../bench/sequences.mjs';
import { runs } from '../../runs.ts';
import { onsets } from '../detect.ts';

/** s: what an ear and a sequencer's grid can do with. */
const WITHIN = 0.005;

describe('of the onsets of sequences', () => {
  const { numRuns } = runs(24);
  const sums = { hit: 0, missed: 0, extra: 0 };
  for (let seed = 0; seed < numRuns; seed++) {
    const { samples, times } = sequence(seed);
    const { hit, missed, extra } = compared(onsets(samples, RATE), times, WITHIN);
    sums.hit += hit;
    sums.missed += missed;
    sums.extra += extra;
  }

  it('95 in 100 are found', () => {
    expect(sums.hit / (sums.hit + sums.missed)).toBeGreaterThanOrEqual(0.95);
  });

  it('95 in 100 of those found are true', () => {
    expect(sums.hit / (sums.hit + sums.extra)).toBeGreaterThanOrEqual(0.95);
  });
});
