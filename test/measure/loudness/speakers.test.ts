// The weight of each channel in the loudness, against the standard's weights, a test signal of the EBU, and
// an independent meter.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LoudnessMeter } from '../../../src/measure/loudness/loudness.ts';
import { speakersOf } from '../../../src/measure/loudness/speakers.ts';
import { close } from '../../close.ts';
import { runs } from '../../runs.ts';
import { secondReader } from '../second-reader.ts';
import { tone } from '../synthesis.ts';

const RATE = 48_000;
/** Steady, so that two seconds tell what the 20 of EBU Tech 3341 do. */
const sine = (dbfs: number) =>
  tone(2 * RATE, { hz: 1000, amplitude: 10 ** (dbfs / 20), sampleRate: RATE });

function loudness(channels: readonly Float64Array[], mask: number | null): number {
  const weights = speakersOf(channels.length, mask).map(({ weight }) => weight);
  const meter = new LoudnessMeter(RATE, channels.length, weights);
  meter.add(channels, (channels[0] as Float64Array).length);
  return meter.integrated();
}

/** EBU Tech 3341, table 1, case 6 (from memory): left, right, centre, and the two surrounds. */
const CASE_6 = { L: -28, R: -28, C: -24, Ls: -30, Rs: -30 };
const TENTH = { abs: 0.1, unit: 'LU', why: 'what EBU Tech 3341 allows a meter' };

describe('the loudness of more than two channels', () => {
  const { L, R, C, Ls, Rs } = CASE_6;
  const five = [L, R, C, Ls, Rs].map(sine);

  it.each([
    ['back speakers', 0x37],
    ['side speakers', 0x607],
    ['no mask', null],
  ])('is that of EBU Tech 3341, case 6, by %s', (_, mask) => {
    close(loudness(five, mask), -23, TENTH);
  });

  it.each([
    ['back speakers', 0x3f],
    ['side speakers', 0x60f],
    ['no mask', null],
  ])('leaves out the LFE, however loud it is, by %s', (_, mask) => {
    const lfe = tone(2 * RATE, { hz: 60, amplitude: 0.9, sampleRate: RATE });
    close(loudness([...five.slice(0, 3), lfe, ...five.slice(3)], mask), -23, TENTH);
  });

  it('counts what has no place once', () => {
    const six = [-40, -40, -40, -30, -40, -40].map(sine);
    // Five of -40 and one of -30 dBFS; a sine reads 3.01 under its peak.
    const expected = 10 * Math.log10((5 * 1e-4 + 1e-3) / 2);
    close(loudness(six, 0), expected, TENTH);
  });

  it('agrees with a second reader, channel by channel', async () => {
    const { loudnessMono } = await secondReader();
    const levels = fc.array(fc.integer({ min: -40, max: -12 }), { minLength: 6, maxLength: 6 });
    fc.assert(
      fc.property(levels, (all) => {
        const channels = all.map((level) => sine(level).subarray(0, RATE));
        // Steady sounds pass every gate, so their powers add.
        const weights = [1, 1, 1, 0, 1.41, 1.41];
        const power = channels.reduce(
          (sum, samples, c) =>
            sum + (weights[c] as number) * 10 ** (loudnessMono(RATE, samples) / 10),
          0,
        );
        close(loudness(channels, 0x3f), 10 * Math.log10(power), {
          abs: 0.02,
          unit: 'LU',
          why: 'the other reads single precision',
        });
      }),
      runs(5),
    );
  });
});

describe('speakersOf', () => {
  it('counts the back ones once where there are sides', () => {
    // ITU-R BS.1770-5, Annex 3: 1.41 from 60 to 120 degrees; the back ones of 7.1 are at 135.
    expect(speakersOf(8, 0x63f).map(({ weight }) => weight)).toEqual([
      1, 1, 1, 0, 1, 1, 1.41, 1.41,
    ]);
  });

  it('gives one for each channel, and one or two count once, whatever the mask', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 256 }),
        fc.option(fc.nat({ max: 0xffffffff })),
        (channels, mask) => {
          const speakers = speakersOf(channels, mask);
          expect(speakers.length).toBe(channels);
          if (channels < 3) expect(speakers.every(({ weight }) => weight === 1)).toBe(true);
        },
      ),
    );
  });
});
