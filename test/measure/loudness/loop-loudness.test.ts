// Loudness of loops against the same loop played over and over, measured by BS.1770 without any notion
// of a loop, by our meter and by one that is not ours.

import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { LoopLoudnessMeter } from '../../../src/measure/loudness/loop-loudness.ts';
import { LoudnessMeter } from '../../../src/measure/loudness/loudness.ts';
import { close } from '../../close.ts';
import { runs } from '../../runs.ts';
import { type SecondReader, secondReader } from '../second-reader.ts';

const RATE = 8000;

function ofLoop(samples: Float64Array, rate = RATE): number {
  const meter = new LoopLoudnessMeter(rate, 1);
  meter.add([samples], samples.length);
  return meter.integrated();
}

function once(samples: Float64Array, rate = RATE): number {
  const meter = new LoudnessMeter(rate, 1);
  meter.add([samples], samples.length);
  return meter.integrated();
}

function rounds(samples: Float64Array, count: number): Float64Array {
  const all = new Float64Array(count * samples.length);
  for (let round = 0; round < count; round++) all.set(samples, round * samples.length);
  return all;
}

/** A loop that is silent but for short bursts of a tone, each dying away. */
function sparse(
  frames: number,
  hits: readonly (readonly [at: number, level: number])[],
  rate = RATE,
) {
  const samples = new Float64Array(frames);
  for (const [at, level] of hits)
    for (let n = 0; n < 0.1 * rate; n++) {
      const i = (Math.floor(at * frames) + n) % frames;
      samples[i] =
        (samples[i] as number) + level * Math.exp(-n / (0.03 * rate)) * Math.sin(0.8 * n);
    }
  return samples;
}

const hits = fc.array(
  fc.tuple(
    fc.integer({ min: 0, max: 999 }).map((n) => n / 1000),
    fc.integer({ min: 5, max: 90 }).map((n) => n / 100),
  ),
  { minLength: 1, maxLength: 4 },
);
const frames = fc.integer({ min: Math.round(0.3 * RATE), max: 4 * RATE });

describe('the loudness of a loop', () => {
  let other: SecondReader;
  beforeAll(async () => {
    other = await secondReader();
  });

  it('is that of the loop repeated', () => {
    fc.assert(
      fc.property(frames, hits, (length, struck) => {
        const loop = sparse(length, struck);
        close(ofLoop(loop), once(rounds(loop, 100)), {
          abs: 0.1,
          unit: 'LU',
          why: 'blocks begin at whole milliseconds, so one at the gate can fall on the other side of it',
        });
      }),
      runs(20),
    );
  });

  it('is that which an independent meter gives', () => {
    const loop = sparse(
      Math.round(1.337 * 48_000),
      [
        [0.05, 0.8],
        [0.6, 0.1],
      ],
      48_000,
    );
    close(ofLoop(loop, 48_000), other.loudnessMono(48_000, rounds(loop, 60)), {
      abs: 0.05,
      unit: 'LU',
      why: 'two meters of BS.1770 differ by hundredths, and 60 rounds are not 100',
    });
    // The same loop once: what the other way of measuring is off by.
    expect(Math.abs(once(loop, 48_000) - ofLoop(loop, 48_000))).toBeGreaterThan(0.1);
  });

  it('does not depend on where the loop is cut', () => {
    const loop = sparse(Math.round(2.113 * RATE), [
      [0.1, 0.5],
      [0.35, 0.9],
    ]);
    for (const cut of [0.2, 0.31, 0.77]) {
      const at = Math.round(cut * loop.length);
      const turned = new Float64Array(loop.length);
      turned.set(loop.subarray(at));
      turned.set(loop.subarray(0, at), loop.length - at);
      close(ofLoop(turned), ofLoop(loop), {
        abs: 0.05,
        unit: 'LU',
        why: 'as above; a loop that is no whole number of tenths has its blocks everywhere',
      });
    }
  });

  it('is that of a steady tone played once', () => {
    const tone = new Float64Array(3 * RATE).map(
      (_, n) => 0.5 * Math.sin((2 * Math.PI * 1000 * n) / RATE),
    );
    close(ofLoop(tone), once(tone), { abs: 0.01, unit: 'LU', why: 'every block is alike' });
  });

  it('is the same however the samples come, and nothing for silence or nothing', () => {
    const loop = sparse(Math.round(0.77 * RATE), [[0.2, 0.5]]);
    const meter = new LoopLoudnessMeter(RATE, 1);
    for (let n = 0; n < loop.length; n += 37)
      meter.add([loop.subarray(n, n + 37)], Math.min(37, loop.length - n));
    expect(meter.integrated()).toBe(ofLoop(loop));
    expect(ofLoop(new Float64Array(RATE))).toBe(Number.NEGATIVE_INFINITY);
    expect(ofLoop(new Float64Array(0))).toBe(Number.NEGATIVE_INFINITY);
  });

  it('names a sample that is no number', () => {
    const loop = new Float64Array(RATE);
    loop[100] = Number.NaN;
    expect(() => ofLoop(loop)).toThrow(/not a finite number/);
  });
});
