// Loudness at other gains: against the same blocks turned up or down, and against an independent meter's reading of the
// samples.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { equalLoudness } from '../../../src/measure/loudness/equal-loudness.ts';
import {
  type LoudnessStep,
  loudnessOfBlocks,
  stepsOfBlocks,
} from '../../../src/measure/loudness/gates.ts';
import { LoudnessMeter } from '../../../src/measure/loudness/loudness.ts';
import { close } from '../../close.ts';
import { secondReader } from '../second-reader.ts';

const RATE = 24_000;

/** Tones one after the other, of so many seconds and dB of full scale, and a peak that the ceiling stops. */
function tones(levels: readonly (readonly [seconds: number, db: number])[], peak = 0) {
  const samples = Float64Array.from(
    levels.flatMap(([seconds, db]) =>
      Array.from(
        { length: seconds * RATE },
        (_, n) => 10 ** (db / 20) * Math.sin((2 * Math.PI * 1000 * n) / RATE),
      ),
    ),
  );
  if (peak > 0) samples[RATE] = peak;
  return samples;
}

function turned(samples: Float64Array, gainDb: number): Float64Array {
  return samples.map((sample) => sample * 10 ** (gainDb / 20));
}

function at(steps: readonly LoudnessStep[], gainDb: number): number {
  return steps.findLast(({ fromDb }) => fromDb <= gainDb)?.lu ?? Number.NEGATIVE_INFINITY;
}

/** Mean squares on both sides of the gate at -70 LUFS, of which some are alike, and silence. */
const powers = fc
  .array(fc.oneof(fc.integer({ min: -100, max: 0 }), fc.constant(Number.NEGATIVE_INFINITY)), {
    minLength: 1,
    maxLength: 40,
  })
  .map((all) => Float64Array.from(all, (db) => 10 ** (db / 10)));

describe('the loudness of blocks at a gain', () => {
  it('is that of the blocks turned up or down', () => {
    const halfway = fc.integer({ min: -60, max: 60 }).map((db) => db + 0.25);
    fc.assert(
      fc.property(powers, halfway, (all, gainDb) => {
        const alike = loudnessOfBlocks(all.map((power) => power * 10 ** (gainDb / 10)));
        const rounding = { abs: 1e-9, unit: 'LU', why: 'sums of doubles' } as const;
        const found = loudnessOfBlocks(all, gainDb);
        if (Number.isFinite(alike)) close(found, alike, rounding);
        else expect(found).toBe(alike);
        const steps = stepsOfBlocks(all, -20);
        const stepped = -20 + at(steps, gainDb) + gainDb;
        if (Number.isFinite(alike))
          close(stepped, alike, {
            abs: 0.005 + 1e-9,
            unit: 'LU',
            why: 'steps are told to 0.01 LU',
          });
        else expect(stepped).toBe(alike);
      }),
    );
  });

  it('falls in steps as the gain rises, and has none of silence', () => {
    fc.assert(
      fc.property(powers, (all) => {
        const steps = stepsOfBlocks(all, 0);
        for (const [index, { fromDb, lu }] of steps.slice(1).entries()) {
          expect(fromDb).toBeGreaterThan(steps[index]?.fromDb as number);
          expect(lu).toBeLessThan(steps[index]?.lu as number);
        }
      }),
    );
    expect(stepsOfBlocks(new Float64Array(5), 0)).toEqual([]);
    expect(stepsOfBlocks(new Float64Array(0), 0)).toEqual([]);
  });

  it('is that of an independent meter, which reads the samples', async () => {
    const other = await secondReader();
    const sound = tones([
      [1, -40],
      [1, -54],
      [10, -70],
    ]);
    const meter = new LoudnessMeter(RATE, 1);
    meter.add([sound], sound.length);
    for (const gainDb of [-20, 0, 4, 20])
      close(meter.integrated(gainDb), other.loudnessMono(RATE, turned(sound, gainDb)), {
        abs: 0.1,
        unit: 'LU',
        why: 'two meters of BS.1770 differ by hundredths',
      });
  });
});

describe('equal loudness of sounds near the gate', () => {
  it('is what an independent meter reads of each, and the loudest that they can have', async () => {
    const other = await secondReader();
    // Of the first the last tone is over -70 LUFS at the gain that its peak allows, and the mean falls by some 3 LU. The
    // second has to be turned down until its last tone is not. The third has nothing near the gate.
    const sounds = [
      tones(
        [
          [1, -40],
          [1, -54],
          [20, -70],
        ],
        0.4,
      ),
      tones([
        [1, -20],
        [1, -34],
        [10, -42],
      ]),
      tones([[1, -12]]),
    ];
    const figures = sounds.map((samples) => {
      const meter = new LoudnessMeter(RATE, 1);
      meter.add([samples], samples.length);
      const peak = other.truePeakMono(RATE, samples);
      return {
        loudnessLufs: meter.integrated(),
        truePeakDbtp: peak,
        loudnessSteps: meter.loudnessSteps(),
      };
    });
    const { targetLufs, gainsDb } = equalLoudness(figures);
    for (const [index, samples] of sounds.entries())
      close(
        other.loudnessMono(RATE, turned(samples, gainsDb[index] as number)),
        targetLufs as number,
        {
          abs: 0.1,
          unit: 'LU',
          why: 'two meters of BS.1770 differ by hundredths',
        },
      );
    close((figures[0]?.truePeakDbtp as number) + (gainsDb[0] as number), -1, {
      abs: 0.01,
      unit: 'dB',
      why: 'the first is at the ceiling; steps are told to 0.01 LU',
    });
    // By one figure a sound, the first would miss the others.
    const single = equalLoudness(
      figures.map(({ loudnessLufs, truePeakDbtp }) => ({ loudnessLufs, truePeakDbtp })),
    );
    const first = turned(sounds[0] as Float64Array, single.gainsDb[0] as number);
    expect(other.loudnessMono(RATE, first)).toBeLessThan((single.targetLufs as number) - 1);
  });

  it('is found wherever it is, by brute force', () => {
    const peak = fc.integer({ min: -40, max: 0 });
    fc.assert(
      fc.property(fc.array(fc.tuple(powers, peak), { minLength: 1, maxLength: 4 }), (all) => {
        const heard = all.filter(([blocks]) => Number.isFinite(loudnessOfBlocks(blocks)));
        const { targetLufs, gainsDb } = equalLoudness(
          heard.map(([blocks, truePeakDbtp]) => {
            const loudnessLufs = loudnessOfBlocks(blocks);
            return {
              loudnessLufs,
              truePeakDbtp,
              loudnessSteps: stepsOfBlocks(blocks, loudnessLufs),
            };
          }),
          -1.25,
        );
        if (targetLufs === null) return;
        for (const [index, [blocks, truePeak]] of heard.entries()) {
          const gain = gainsDb[index] as number;
          expect(gain).toBeLessThanOrEqual(-1.25 - truePeak + 0.011);
          // A block may pass the gate within the hundredth that steps are told to.
          const near = [-0.02, 0, 0.02].map((off) => loudnessOfBlocks(blocks, gain + off) - off);
          expect(Math.min(...near)).toBeLessThan(targetLufs + 0.03);
          expect(Math.max(...near)).toBeGreaterThan(targetLufs - 0.03);
        }
        const reached = heard.map(([blocks, one]) => loudnessOfBlocks(blocks, -1.25 - one));
        close(targetLufs, Math.min(...reached), {
          abs: 0.006,
          unit: 'LU',
          why: 'steps are told to 0.01 LU',
        });
      }),
    );
  });
});
