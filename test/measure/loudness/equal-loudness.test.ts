// Gains to one loudness: sums of decibels, worked out by hand.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { equalLoudness } from '../../../src/measure/loudness/equal-loudness.ts';
import { close } from '../../close.ts';

describe('equalLoudness', () => {
  it('takes the level that the peakiest sound allows', () => {
    // Headroom to -1 dBTP: 5, 1 and -3 dB, so levels of -15, -29 and -11 LUFS are possible.
    const sounds = [
      { loudnessLufs: -20, truePeakDbtp: -6 },
      { loudnessLufs: -30, truePeakDbtp: -2 },
      { loudnessLufs: -8, truePeakDbtp: 2 },
    ];
    expect(equalLoudness(sounds)).toEqual({ targetLufs: -29, gainsDb: [-9, 1, -21] });
  });

  it('leaves silence alone, and has no target without sound', () => {
    const silent = { loudnessLufs: null, truePeakDbtp: null };
    const faint = { loudnessLufs: null, truePeakDbtp: -90 };
    expect(equalLoudness([silent, { loudnessLufs: -20, truePeakDbtp: -7 }, faint])).toEqual({
      targetLufs: -14,
      gainsDb: [0, 6, 0],
    });
    expect(equalLoudness([silent])).toEqual({ targetLufs: null, gainsDb: [0] });
    expect(equalLoudness([])).toEqual({ targetLufs: null, gainsDb: [] });
  });

  it('lets no peak pass the ceiling, and lets one reach it', () => {
    const level = fc.double({ min: -80, max: 20, noNaN: true });
    fc.assert(
      fc.property(
        fc.array(fc.record({ loudnessLufs: level, truePeakDbtp: level }), { minLength: 1 }),
        fc.double({ min: -6, max: 0, noNaN: true }),
        (sounds, ceiling) => {
          const { gainsDb } = equalLoudness(sounds, ceiling);
          const peaks = sounds.map(({ truePeakDbtp }, i) => truePeakDbtp + (gainsDb[i] as number));
          close(Math.max(...peaks), ceiling, {
            abs: 1e-9,
            unit: 'dB',
            why: 'a few sums of doubles of this size are exact to 1e-12',
          });
        },
      ),
    );
  });
});
