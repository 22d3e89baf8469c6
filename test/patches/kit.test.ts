// What is shipped renders: every patch, and the kit of eight as a mix.

import { describe, expect, it } from 'vitest';
import { stemsOf } from '../../src/engine/stems.ts';
import { patchFrom, SHIPPED, shipped } from '../findings/read.ts';
import { db, peakOf, played } from './listen.ts';

// Reading one with a problem throws, and says which.
describe.each(SHIPPED)('%s', (name) => {
  const patch = patchFrom(shipped(name));
  const sides = played(patch);

  it('renders, every sample finite', () => {
    for (const side of sides) expect(side.every(Number.isFinite)).toBe(true);
  });

  it('fills a file without clipping', () => {
    const peak = db(Math.max(...sides.map(peakOf)));
    expect(peak).toBeLessThan(0);
    // Softer than this it would be turned up, and the next clip is then too loud: common practice,
    // no source.
    expect(peak).toBeGreaterThan(-20);
  });
});

describe('the kit of eight', () => {
  const patch = patchFrom(shipped('kit-of-eight.yaml'));
  const [left, right] = played(patch) as [Float64Array, Float64Array];

  it('has eight voices', () => {
    expect(stemsOf(patch)).toHaveLength(8);
  });

  it('peaks between -6 and -1 dBFS', () => {
    const peak = db(Math.max(peakOf(left), peakOf(right)));
    expect(peak).toBeGreaterThan(-6);
    expect(peak).toBeLessThan(-1);
  });

  it('stands on both sides, alike in level and not in sound', () => {
    // With the beat in the middle neither side should pull: 2 dB is what one hears as a lean.
    expect(Math.abs(10 * Math.log10(power(left) / power(right)))).toBeLessThan(2);
    const difference = left.map((value, n) => value - (right[n] as number));
    expect(power(difference)).toBeGreaterThan(0.01 * power(left));
  });

  it('plays four bars, no two alike', () => {
    // 94 bpm: 16 quarters of 60/94 s.
    expect(left.length / 48_000).toBeCloseTo((16 * 60) / 94, 3);
    const quarter = Math.floor(left.length / 4);
    const bars = [0, 1, 2, 3].map((bar) => left.subarray(bar * quarter, (bar + 1) * quarter));
    for (let a = 0; a < 4; a++)
      for (let b = a + 1; b < 4; b++) {
        const one = bars[a] as Float64Array;
        const other = bars[b] as Float64Array;
        const distance = one.map((value, n) => value - (other[n] as number));
        expect(power(distance)).toBeGreaterThan(0.05 * power(one));
      }
  });
});

function power(samples: Float64Array): number {
  return samples.reduce((sum, value) => sum + value ** 2, 0);
}
