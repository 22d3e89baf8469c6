// Loudness against the test cases of EBU Tech 3341, the figures of ITU-R BS.1770, and closed forms.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type FilterSection,
  kWeighting,
  LoudnessMeter,
} from '../../../src/measure/loudness/loudness.ts';
import { close } from '../../close.ts';
import { reference } from '../../reference.ts';
import { runs } from '../../runs.ts';

interface Inputs {
  readonly fs: number;
  readonly f: number;
  readonly channels: number;
  readonly dBFS: number;
  readonly segments_s_dBFS: readonly [seconds: number, dbfs: number][];
  readonly on: number;
  readonly period: number;
  readonly db: number;
  readonly T: number;
}

const entryOf = (id: string) => reference<Inputs, unknown>('loudness', id);

const amplitude = (dbfs: number) => 10 ** (dbfs / 20);

/** Measures the same samples in every channel. */
function measure(samples: Float64Array, sampleRate: number, channels: number): number {
  const meter = new LoudnessMeter(sampleRate, channels);
  meter.add(Array<Float64Array>(channels).fill(samples), samples.length);
  return meter.integrated();
}

/** A sine whose level in dBFS, at its peak, changes from segment to segment. */
function tone(hz: number, sampleRate: number, segments: readonly [number, number][]) {
  const ends: number[] = [];
  for (const [seconds] of segments) {
    ends.push((ends.at(-1) ?? 0) + Math.round(seconds * sampleRate));
  }
  const samples = new Float64Array(ends.at(-1) ?? 0);
  segments.forEach(([, dbfs], segment) => {
    const level = amplitude(dbfs);
    for (let i = ends[segment - 1] ?? 0; i < (ends[segment] as number); i++) {
      samples[i] = level * Math.sin((2 * Math.PI * hz * i) / sampleRate);
    }
  });
  return samples;
}

/** The gain in dB of both sections, from their transfer functions on the unit circle. */
function gainDb(sections: readonly FilterSection[], hz: number, sampleRate: number): number {
  const w = (2 * Math.PI * hz) / sampleRate;
  const power = (c0: number, c1: number, c2: number) =>
    (c0 + c1 * Math.cos(w) + c2 * Math.cos(2 * w)) ** 2 +
    (c1 * Math.sin(w) + c2 * Math.sin(2 * w)) ** 2;
  return sections.reduce((db, { a, b }) => db + 10 * Math.log10(power(...b) / power(1, ...a)), 0);
}

/**
 * How far the weighting at another rate may be from that at 48 kHz, dB: 0.01, as in S-loudness-05, and
 * at low rates the warp of the bilinear transform, which grows with the square of f/rate. 0.3 at 8 kHz
 * is what the documentation of kWeighting admits.
 */
const warpDb = (sampleRate: number) => Math.max(0.01, 0.3 * (8000 / sampleRate) ** 2);

describe('the K-weighting', () => {
  it('is the printed coefficients at 48 kHz', () => {
    // Recommendation ITU-R BS.1770-4, Annex 1, tables 1 and 2. They are printed to 14 decimals; going
    // to the analogue filter and back may cost the last of them.
    const [shelf, highPass] = kWeighting(48000);
    const wanted = [1.53512485958697, -2.69169618940638, 1.19839281085285];
    wanted.push(-1.69065929318241, 0.73248077421585, 1, -2, 1);
    wanted.push(-1.99004745483398, 0.99007225036621);
    [...shelf.b, ...shelf.a, ...highPass.b, ...highPass.a].forEach((coefficient, i) => {
      close(coefficient, wanted[i] as number, {
        abs: 1e-13,
        unit: '',
        why: "the standard's digits, and rounding",
      });
    });
  });

  it('has the gains of the standard at 48 kHz (S-loudness-05)', () => {
    const { expected, inputs, tolerance } = entryOf('S-loudness-05');
    for (const [hz, db] of Object.entries(expected as Record<string, number>)) {
      const found = gainDb(kWeighting(inputs.fs), Number(hz), inputs.fs);
      close(found, db, {
        abs: tolerance.abs as number,
        unit: 'dB',
        why: "the reference's own tolerance",
      });
    }
  });

  it.each([8000, 11025, 22050, 44100, 88200, 96000, 192000, 384000])(
    'has the same gains at %s Hz',
    (sampleRate) => {
      // The standard: other rates must have the response that the filter has at 48 kHz.
      for (let hz = 20; hz < 0.45 * Math.min(sampleRate, 48000); hz *= 1.1) {
        const wanted = gainDb(kWeighting(48000), hz, 48000);
        const found = gainDb(kWeighting(sampleRate), hz, sampleRate);
        close(found, wanted, {
          abs: warpDb(sampleRate),
          unit: 'dB',
          why: `the warp of the bilinear transform, at ${hz} Hz`,
        });
      }
    },
  );

  it('refuses sample rates outside 8 to 384 kHz', () => {
    for (const sampleRate of [7999, 384001, 0, -48000, Number.NaN]) {
      expect(() => kWeighting(sampleRate)).toThrow(RangeError);
      expect(() => new LoudnessMeter(sampleRate, 2)).toThrow(RangeError);
    }
  });
});

describe('integrated loudness', () => {
  it.each(['S-loudness-01', 'S-loudness-02', 'S-loudness-03'].map(entryOf))(
    'of $what ($id)',
    ({ inputs, expected, tolerance }) => {
      const samples = tone(inputs.f, inputs.fs, inputs.segments_s_dBFS);
      const lufs = measure(samples, inputs.fs, inputs.channels);
      close(lufs, expected as number, {
        abs: tolerance.abs as number,
        unit: 'LU',
        why: "the reference's own tolerance",
      });
    },
  );

  it.each(['S-loudness-04', 'S-loudness-06'].map(entryOf))(
    'of $what ($id)',
    ({ inputs, expected, tolerance }) => {
      const samples = tone(inputs.f, inputs.fs, [[20, inputs.dBFS]]);
      const lufs = measure(samples, inputs.fs, inputs.channels);
      close(lufs, expected as number, {
        abs: tolerance.abs as number,
        unit: 'LU',
        why: "the reference's own tolerance",
      });
    },
  );

  it('of a drum-like burst leaves out the silence between (S-loudness-07)', () => {
    const { inputs, expected, tolerance } = entryOf('S-loudness-07');
    const period = inputs.period * inputs.fs;
    const samples = tone(inputs.f, inputs.fs, [[inputs.T, inputs.db]]).map((x, i) =>
      i % period < inputs.on * inputs.fs ? x : 0,
    );
    const lufs = measure(samples, inputs.fs, inputs.channels);
    close(lufs, (expected as { gated: number }).gated, {
      abs: tolerance.abs as number,
      unit: 'LU',
      why: "the reference's own tolerance",
    });
  });

  it.each([8000, 11025, 22050, 44100, 96000, 192000])(
    'of 1 kHz at -23 dBFS in both channels is -23 LUFS at %s Hz too',
    (sampleRate) => {
      // -22.993: the closed form behind S-loudness-06, in two channels. 0.02: the filter's start.
      const lufs = measure(tone(1000, sampleRate, [[3, -23]]), sampleRate, 2);
      close(lufs, -22.993, {
        abs: 0.02 + warpDb(sampleRate),
        unit: 'LU',
        why: "the filter's start, and the warp of the bilinear transform",
      });
    },
  );

  it('stops at the absolute gate of -70 LUFS', () => {
    // A mono 997 Hz sine reads 3.01 below its peak level (S-loudness-04).
    const above = measure(tone(997, 48000, [[2, -66.94]]), 48000, 1);
    close(above, -69.95, { abs: 0.02, unit: 'LU', why: "the filter's start" });
    const below = measure(tone(997, 48000, [[2, -67.04]]), 48000, 1);
    expect(below).toBe(Number.NEGATIVE_INFINITY);
  });

  it('has a relative gate of 10 LU under the mean of what passes the absolute one', () => {
    // Two parts of equal length, D dB apart: the mean of the powers lies 10 log10((1 + 10^(-D/10))/2)
    // under the louder, so the gate cuts the softer when D > 10 + 3.01 - 10 log10(1 + 10^(-D/10)),
    // which is from D = 12.79 on. Not cut, it pulls the loudness down by the same formula.
    const rate = 8000;
    const levels = (...dbfs: number[]) =>
      measure(
        tone(
          1000,
          rate,
          dbfs.map((db) => [30, db]),
        ),
        rate,
        1,
      );
    const louder = levels(-20);
    const apart = (db: number) => levels(-20, -20 - db);
    const mixed = (db: number) => louder + 10 * Math.log10((1 + 10 ** (-db / 10)) / 2);
    // 0.05 dB: three blocks of 600 hold some of each part.
    close(apart(12.6), mixed(12.6), {
      abs: 0.05,
      unit: 'dB',
      why: 'three blocks of 600 hold some of each part',
    });
    close(apart(13), louder, {
      abs: 0.05,
      unit: 'dB',
      why: 'three blocks of 600 hold some of each part',
    });
  });

  it('adds the powers of the channels, each with weight 1', () => {
    const samples = tone(1000, 48000, [[1, -30]]);
    const silence = new Float64Array(samples.length);
    const meter = new LoudnessMeter(48000, 3);
    meter.add([samples, silence, samples], samples.length);
    const difference = meter.integrated() - measure(samples, 48000, 1);
    close(difference, 3.010299956639812, {
      abs: 1e-9,
      unit: 'dB',
      why: '10 log10(2), exact but for rounding',
    });
  });

  it('of less than a block is that of the block which silence completes', () => {
    // Closed form: the mean over 400 ms of a tone that lasts 300 ms. 0.05: the filter's start.
    const samples = tone(1000, 48000, [[0.3, -6]]);
    const lufs = measure(samples, 48000, 1);
    const gain = gainDb(kWeighting(48000), 1000, 48000);
    const wanted = -0.691 - 6 - 3.0103 + gain + 10 * Math.log10(0.3 / 0.4);
    close(lufs, wanted, { abs: 0.05, unit: 'LU', why: "the filter's start" });
    const padded = new Float64Array(19200);
    padded.set(samples);
    close(lufs, measure(padded, 48000, 1), {
      abs: 0.001,
      unit: 'LU',
      why: 'the padding lets the filter ring out, the end of the samples does not',
    });
  });

  it('counts from 400 ms on only what fills a hop of 100 ms', () => {
    const samples = tone(1000, 48000, [[0.4, -6]]);
    const longer = new Float64Array(samples.length + 4799).fill(1);
    longer.set(samples);
    expect(measure(longer, 48000, 1)).toBe(measure(samples, 48000, 1));
  });

  it('is minus infinity for silence and for nothing', () => {
    expect(new LoudnessMeter(48000, 2).integrated()).toBe(Number.NEGATIVE_INFINITY);
    for (const seconds of [0.1, 3]) {
      const silence = new Float64Array(seconds * 44100);
      expect(measure(silence, 44100, 2)).toBe(Number.NEGATIVE_INFINITY);
    }
  });

  it('is the same to the last bit however the samples are split', () => {
    const sampleRate = 11025; // a hop of 1102.5 frames
    const left = tone(300, sampleRate, [
      [0.7, -10],
      [0.5, -25],
    ]);
    const right = left.map((x, i) => x * ((i * 7919) % 13));
    const whole = new LoudnessMeter(sampleRate, 2);
    whole.add([left, right], left.length);
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: left.length })), (cuts) => {
        const meter = new LoudnessMeter(sampleRate, 2);
        const places = [0, ...cuts.sort((a, b) => a - b), left.length];
        for (let i = 1; i < places.length; i++) {
          const [from, to] = [places[i - 1] as number, places[i] as number];
          meter.add([left.subarray(from, to), right.subarray(from, to)], to - from);
        }
        expect(meter.integrated()).toBe(whole.integrated());
      }),
      runs(30),
    );
  });

  it('is never less than what was sure before, whatever follows', () => {
    const sampleRate = 8000;
    // Bursts: how long, and how loud.
    const burst = fc.tuple(fc.integer({ min: 1, max: 9000 }), fc.integer({ min: -80, max: 0 }));
    fc.assert(
      fc.property(
        fc.array(burst, { minLength: 1, maxLength: 8 }),
        fc.integer({ min: 0, max: 8 }),
        (bursts, until) => {
          const frames = bursts.reduce((sum, [length]) => sum + length, 0);
          const meter = new LoudnessMeter(sampleRate, 1);
          let sure = Number.NEGATIVE_INFINITY;
          bursts.forEach(([length, dbfs], n) => {
            if (n === until) sure = meter.atLeast(frames);
            const level = amplitude(dbfs);
            const sound = new Float64Array(length).map((_, i) => level * Math.sin(i * 0.7));
            meter.add([sound], length);
          });
          // 1e-9: rounding. Under the absolute gate there is nothing to be sure of.
          if (sure > -70) expect(meter.integrated()).toBeGreaterThan(sure - 1e-9);
          // And of all of a steady sound it is all.
          const steady = new LoudnessMeter(sampleRate, 1);
          steady.add([new Float64Array(16_000).map((_, i) => Math.sin(i))], 16_000);
          expect(steady.atLeast(16_000)).toBeGreaterThan(steady.integrated() - 0.1);
        },
      ),
      runs(100),
    );
  });

  it('goes down by as much as the gain', () => {
    const samples = tone(200, 48000, [[1, -12]]).map((x, i) => x + ((i * 31) % 17) / 100);
    fc.assert(
      fc.property(fc.double({ min: -40, max: 20, noNaN: true }), (db) => {
        const changed = measure(
          samples.map((x) => x * amplitude(db)),
          48000,
          1,
        );
        close(changed - measure(samples, 48000, 1), db, {
          abs: 1e-9,
          unit: 'LU',
          why: 'both gates keep all of a steady sound, so only rounding is left',
        });
      }),
      runs(10),
    );
  });

  it('refuses samples that are not finite', () => {
    for (const bad of [Number.NaN, Number.POSITIVE_INFINITY]) {
      const samples = new Float64Array(4800);
      samples[17] = bad;
      expect(() => measure(samples, 48000, 2)).toThrow('not a finite number');
    }
  });
});
