// The level under the start of a signal, against closed forms: a known offset, and the response
// of the Hann window to a wave.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { OffsetBlocker } from '../../src/measure/offset-blocker.ts';
import { ENOUGH, openingLevel, steadyLevel } from '../../src/measure/steady-level.ts';
import { close } from '../close.ts';
import { tone } from './synthesis.ts';

const RATE = 48000;
const COUNT = Math.ceil(ENOUGH * RATE);

describe('steadyLevel', () => {
  it('is an offset, whatever wave is on it and wherever it begins', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -0.5, max: 0.5, noNaN: true }),
        fc.double({ min: 30, max: 5000, noNaN: true }),
        fc.double({ min: 0, max: 2 * Math.PI, noNaN: true }),
        (offset, hz, phase) => {
          const wave = tone(COUNT, { hz, amplitude: 0.5, sampleRate: RATE, phase });
          close(
            steadyLevel(
              wave.map((x) => x + offset),
              COUNT,
            ),
            offset,
            {
              abs: 0.5 * 0.0272,
              unit: '',
              why: 'the highest side lobe of the Hann window is 31.3 dB down (Harris, 1978)',
            },
          );
        },
      ),
    );
  });

  it('of one sample is the sample, of none 0', () => {
    expect(steadyLevel(Float64Array.of(0.3), 1)).toBe(0.3);
    expect(steadyLevel(new Float64Array(0), 0)).toBe(0);
  });
});

describe('openingLevel', () => {
  it('is an offset, wherever a sound sets in', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -0.5, max: 0.5, noNaN: true }),
        fc.integer({ min: 9, max: COUNT }),
        (offset, lead) => {
          // It rises to 1 at once and stays: the worst that a sound can do to an average.
          const samples = new Float64Array(COUNT).fill(offset).fill(offset + 1, lead);
          close(openingLevel(samples, COUNT, RATE), offset, {
            abs: 1e-9,
            unit: '',
            why: 'what lies before the sound is the offset alone; sums of doubles',
          });
        },
      ),
    );
  });

  it.each([20, 50, 400])(
    'is that of the whole where a wave of %i Hz begins, wherever it does',
    (hz) => {
      for (let phase = 0; phase < 2 * Math.PI; phase += Math.PI / 8) {
        const wave = tone(COUNT, { hz, amplitude: 0.5, sampleRate: RATE, phase });
        expect(openingLevel(wave, COUNT, RATE)).toBe(steadyLevel(wave, COUNT));
      }
    },
  );

  it('of none is 0', () => {
    expect(openingLevel(new Float64Array(0), 0, RATE)).toBe(0);
  });
});

describe('OffsetBlocker', () => {
  it('leaves a sound that has begun before as it is, and no jump', () => {
    const samples = tone(RATE, {
      hz: 60,
      amplitude: 0.5,
      sampleRate: RATE,
      phase: Math.PI / 2,
    }).map((x, n) => x * Math.exp(-n / RATE / 0.2));
    const blocker = new OffsetBlocker(RATE, 4096);
    const first = blocker.run(
      samples.map((x) => x + 0.25),
      4096,
    );
    for (const [n, sample] of first.entries()) {
      close(sample, samples[n] as number, {
        abs: 0.04,
        unit: '',
        why: 'a high-pass at 3 Hz turns 60 Hz by 3 degrees, 5 %, and its level is 2 % of 0.5 off',
      });
    }
  });
});
