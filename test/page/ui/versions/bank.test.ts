// Kept versions: the gains that make them equally loud, and what is left when one is subtracted from another.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { equalLoudness } from '../../../../src/measure/loudness/equal-loudness.ts';
import {
  blindSound,
  equalGain,
  leftOf,
  type Version,
} from '../../../../src/page/ui/versions/bank.ts';
import { close } from '../../../close.ts';

const SUMS = { abs: 5e-10, unit: 'dB', why: 'both are sums of a few doubles under 100' };

const WHOLE = { of: 1, start: 0, isWhole: true, isPart: false };

function version(id: number, loudnessLufs: number | undefined): Version {
  const files = { main: 'a', set: [], texts: { a: String(id) } };
  const loop =
    loudnessLufs === undefined
      ? undefined
      : { ...WHOLE, channels: [], frames: 0, ready: 0, loudnessLufs };
  return { id, name: '', files, view: undefined, loop };
}

describe('the bank of versions', () => {
  it('turns each down to the quietest, and none up', () => {
    const kept = [version(1, -20), version(2, -26.5), version(3, -Infinity), version(4, undefined)];
    // A gain in dB moves loudness in LUFS by as much (ITU-R BS.1770-5).
    expect(equalGain({ loudnessLufs: -20 }, kept)).toBe(-6.5);
    expect(equalGain({ loudnessLufs: -26.5 }, kept)).toBe(0);
    expect(equalGain({ loudnessLufs: -40 }, kept)).toBe(0);
    expect(equalGain({ loudnessLufs: -Infinity }, kept)).toBe(0);
    expect(equalGain(undefined, kept)).toBe(0);
    expect(equalGain({ loudnessLufs: -20 }, [])).toBe(0);
  });

  it('turns one down by more where its softer parts drop under the gate on the way', () => {
    // From 10 dB down on, 3 LU more are left than the gain takes: -20 - 23 + 3 is -40.
    const loudnessSteps = [
      { fromDb: -90, lu: 3 },
      { fromDb: -10, lu: 0 },
    ];
    const loop = { loudnessLufs: -20, loudnessSteps };
    expect(equalGain(loop, [version(1, -40)])).toBe(-23);
    expect(equalGain(loop, [version(1, -25)])).toBe(-5);
  });

  it('moves them against one another as compare does', () => {
    const loudness = fc.double({ min: -60, max: -1, noNaN: true });
    fc.assert(
      fc.property(fc.array(loudness, { minLength: 2, maxLength: 9 }), (all) => {
        const kept = all.map((one, index) => version(index, one));
        const { gainsDb } = equalLoudness(
          all.map((loudnessLufs) => ({ loudnessLufs, truePeakDbtp: -3 })),
        );
        const gains = kept.map(({ loop }) => equalGain(loop, kept));
        expect(Math.max(...gains)).toBe(0);
        gains.forEach((gain, index) => {
          const apart = (gainsDb[index] as number) - (gainsDb[0] as number);
          // Both are sums of a few doubles under 100.
          close(gain - (gains[0] as number), apart, SUMS);
        });
      }),
    );
  });
});

describe('what is left without the first', () => {
  const sounding = (id: number, loudnessLufs: number, samples: readonly number[]): Version => ({
    ...version(id, undefined),
    loop: {
      ...WHOLE,
      channels: [new Float32Array(samples)],
      frames: samples.length,
      ready: samples.length,
      loudnessLufs,
    },
  });
  const wave = [0.25, -0.5, 0.125, 0.75];

  it('is nothing of what only is louder, and all of what has nothing to do with it', () => {
    const first = sounding(1, -20, wave);
    expect(leftOf(first, sounding(2, -20, wave))).toBeNull();
    // Twice the samples, 6.0206 dB: both are made as loud.
    const louder = sounding(
      3,
      -20 + 20 * Math.log10(2),
      wave.map((one) => 2 * one),
    );
    expect(leftOf(first, louder) ?? -300).toBeLessThan(-250);
    // Where one sounds the other does not: the power of both against the mean of both, +3.01 dB.
    const other = leftOf(sounding(4, -20, [1, 0]), sounding(5, -20, [0, 1]));
    close(other ?? Number.NaN, 10 * Math.log10(2), SUMS);
  });

  it('is not told before both are heard', () => {
    expect(leftOf(version(1, undefined), sounding(2, -20, wave))).toBeUndefined();
  });

  it('lets a blind test hear one of two as loud as the quieter', () => {
    const kept = [sounding(1, -20, wave), sounding(2, -26, wave), sounding(3, -40, wave)];
    const trial = { pair: [1, 2], trials: 5, number: 1, right: 0, x: 0, isHeard: false } as const;
    expect(blindSound({ ...trial, heard: 'x' }, kept)).toEqual({ loop: kept[0]?.loop, gainDb: -6 });
    expect(blindSound({ ...trial, heard: 'second' }, kept)?.gainDb).toBe(0);
    expect(blindSound(undefined, kept)).toBeUndefined();
  });
});
