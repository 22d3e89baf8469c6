// Where a hit begins: ISO 3382-1:2009, 5.3.2, has the start of an impulse response where it first comes within 20 dB
// of its peak (from memory). The times here follow from the shapes of the sounds.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { hitOnset } from '../../../src/measure/likeness/hit-onset.ts';
import { close } from '../../close.ts';
import { uniform } from '../../compare/fit-recordings.ts';

const RATE = 48_000;
/** A second of sound, with so much before it, s. */
function sound(lead: number, of: (time: number) => number): Float64Array {
  return Float64Array.from({ length: Math.round((lead + 1) * RATE) }, (_, n) => {
    const time = n / RATE - lead;
    return time < 0 ? 0 : of(time);
  });
}
const onsetOf = (samples: Float64Array): number =>
  hitOnset(samples, { from: 0, to: samples.length, sampleRate: RATE }) / RATE;
const square = (time: number): number => (time * 1000 - Math.floor(time * 1000) < 0.5 ? 1 : -1);

describe('the onset of a hit', () => {
  it.each([0, 0.0005, 0.25])('is its first sample where it begins at once, %d s in', (lead) => {
    expect(onsetOf(sound(lead, (time) => square(time) * Math.exp(-8 * time)))).toBe(
      Math.round(lead * RATE) / RATE,
    );
  });

  it.each([0.01, 0.05, 0.2])('is a tenth of the way up where it swells for %d s', (rise) => {
    const onset = onsetOf(sound(0.1, (time) => square(time) * Math.min(1, time / rise)));
    // To the next sample, from a tenth of a straight line.
    expect(onset - (0.1 + rise / 10)).toBeGreaterThanOrEqual(-1e-9);
    expect(onset - (0.1 + rise / 10)).toBeLessThanOrEqual(1 / RATE);
  });

  it('is not moved by a floor of noise, 30 dB under the loudest', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), (seed) => {
        const next = uniform(seed);
        const samples = sound(0.2, (time) => square(time) * Math.exp(-8 * time));
        // Uniform noise of a rms of -30 dB; its own peaks are 5 dB over that.
        const noisy = samples.map((value) => value + 0.0316 * Math.sqrt(3) * next());
        expect(onsetOf(noisy)).toBe(0.2);
      }),
      { numRuns: 20 },
    );
  });

  it('is the same however loud it is, and moves with it', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1e-4, max: 100, noNaN: true }),
        fc.integer({ min: 0, max: 20_000 }),
        (gain, shift) => {
          const swell = (time: number): number =>
            gain * square(time) * Math.min(1, time / 0.03) * Math.exp(-5 * time);
          const own = onsetOf(sound(0, swell));
          close(onsetOf(sound(shift / RATE, swell)), own + shift / RATE, {
            abs: 5e-10,
            unit: 's',
            why: 'rounding',
          });
        },
      ),
      { numRuns: 20 },
    );
  });

  it('is where it was asked from, of silence', () => {
    const samples = new Float64Array(RATE);
    expect(hitOnset(samples, { from: 100, to: RATE, sampleRate: RATE })).toBe(100);
  });
});
