// Samples as bytes: scale, rounding, limits, and the statistics of the dither.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Depth, Packer, SAMPLE_BYTES } from '../../src/wav/wav-pack.ts';
import { close } from '../close.ts';
import { reference } from '../reference.ts';
import { codesOf, viewOf } from '../riff.ts';
import { runs } from '../runs.ts';

function expected<T>(id: string): T {
  return reference<unknown, T>('pcm', id).expected;
}

interface Packed {
  bytes: Uint8Array;
  clipped: number;
}

function pack(channels: Float64Array[], depth: Depth, dithered = true): Packed {
  const frames = channels[0]?.length ?? 0;
  const packer = new Packer(channels.length, depth, dithered);
  const bytes = new Uint8Array(frames * channels.length * SAMPLE_BYTES[depth]);
  expect(packer.pack(channels, 0, frames, bytes, 0)).toBe(bytes.length);
  return { bytes, clipped: packer.clipped };
}

/** What packing adds to mono samples, in steps of the depth. */
function errors(samples: Float64Array, bits: 16 | 24, dithered = true): Float64Array {
  const scale = bits === 16 ? 32768 : 8388608;
  const codes = codesOf(pack([samples], `${bits}`, dithered).bytes, bits);
  return samples.map((x, i) => (codes[i] as number) - x * scale);
}

const mean = (values: Float64Array) => values.reduce((a, b) => a + b, 0) / values.length;
const power = (values: Float64Array) => mean(values.map((v) => v * v));
const decibel = (ratio: number) => 10 * Math.log10(ratio);
function sine(frames: number, cyclesPerFrame: number, amplitude: number): Float64Array {
  return new Float64Array(frames).map(
    (_, i) => amplitude * Math.sin(2 * Math.PI * cyclesPerFrame * i),
  );
}

describe('whole-number codes', () => {
  it('are 32768 to full scale at 16 bits, and +1.0 gets the top code (S-pcm-06)', () => {
    const { bytes, clipped } = pack([Float64Array.of(32767 / 32768, -1, 1)], '16', false);
    expect(codesOf(bytes, 16)).toEqual([32767, -32768, 32767]);
    const toFloat = expected<Record<string, number>>('S-pcm-06');
    close(32767 / 32768, toFloat['32767'] as number, {
      abs: 1e-9,
      unit: '',
      why: "the reference's digits",
    });
    expect(toFloat['-32768']).toBe(-1);
    // Full scale itself is not beyond full scale.
    expect(clipped).toBe(0);
  });

  it('are nearest, halves upwards, at 24 bits, least significant byte first', () => {
    const step = 1 / 8388608;
    const samples = Float64Array.of(2.5, -2.5, 2.49, 0x123456, -8388608, 8388608).map(
      (steps) => steps * step,
    );
    const { bytes } = pack([samples], '24');
    expect(codesOf(bytes, 24)).toEqual([3, -2, 2, 0x123456, -8388608, 8388607]);
    expect([...bytes.subarray(9, 12)]).toEqual([0x56, 0x34, 0x12]);
  });

  it('interleave the channels', () => {
    const channels = [1, 2, 3].map((c) => Float64Array.of(c / 32768, (10 * c) / 32768));
    expect(codesOf(pack(channels, '16', false).bytes, 16)).toEqual([1, 2, 3, 10, 20, 30]);
  });

  it('leave samples that lie on codes as they are when there is no dither', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -32768, max: 32767 })), (codes) => {
        const samples = Float64Array.from(codes, (code) => code / 32768);
        expect(codesOf(pack([samples], '16', false).bytes, 16)).toEqual(codes);
      }),
    );
  });
});

describe('any finite sample', () => {
  // Half of them near full scale, where the limits are.
  const samples = fc.array(
    fc.oneof(
      fc.double({ noNaN: true, noDefaultInfinity: true }),
      fc.double({ min: -1.001, max: 1.001, noNaN: true }),
    ),
  );
  const limited = (x: number) => Math.max(-1, Math.min(1, x));

  it.each([
    // Furthest from the sample in steps: dither 1 and rounding 0.5; at +1.0 the missing code.
    { bits: 16, furthest: 1.5 },
    { bits: 24, furthest: 1 },
  ] as const)('becomes a near and legal code of $bits bits', ({ bits, furthest }) => {
    fc.assert(
      fc.property(samples, (values) => {
        const { bytes, clipped } = pack([Float64Array.from(values)], `${bits}`);
        const top = 2 ** (bits - 1);
        codesOf(bytes, bits).forEach((code, i) => {
          close(code, limited(values[i] as number) * top, {
            abs: furthest,
            unit: 'steps',
            why: 'how far a code may be off',
          });
        });
        expect(clipped).toBe(values.filter((x) => Math.abs(x) > 1).length);
      }),
    );
  });

  it('becomes the nearest 32-bit float, never an infinite one', () => {
    const largest = 3.4028234663852886e38;
    fc.assert(
      fc.property(samples, (values) => {
        const { bytes, clipped } = pack([Float64Array.from(values)], '32f');
        const view = viewOf(bytes);
        values.forEach((x, i) => {
          const wanted = Math.fround(Math.max(-largest, Math.min(largest, x)));
          expect(Object.is(view.getFloat32(4 * i, true), wanted)).toBe(true);
        });
        expect(clipped).toBe(values.filter((x) => Math.abs(x) > largest).length);
      }),
    );
  });
});

it.each(['16', '24', '32f'] as const)(
  'refuses a sample that is not finite at %s and says where it is',
  (depth) => {
    for (const bad of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      const packer = new Packer(2, depth, true);
      const into = new Uint8Array(1000);
      packer.pack([new Float64Array(5), new Float64Array(5)], 0, 5, into, 0);
      const channels = [new Float64Array(5), Float64Array.of(0, 0, bad, 0, 0)];
      expect(() => packer.pack(channels, 1, 3, into, 0)).toThrow(`${bad} in channel 1, frame 6`);
    }
  },
);

it.each(['16', '24', '32f'] as const)(
  'packs the same bytes however the work is split at %s',
  (depth) => {
    const channels = [sine(1000, 0.0123, 0.9), sine(1000, 0.0311, 0.5)];
    const whole = pack(channels, depth).bytes;
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 1000 })), (cuts) => {
        const packer = new Packer(2, depth, true);
        const into = new Uint8Array(whole.length);
        let at = 0;
        const places = [0, ...cuts.sort((a, b) => a - b), 1000];
        for (let i = 1; i < places.length; i++) {
          const from = places[i - 1] as number;
          at += packer.pack(channels, from, (places[i] as number) - from, into, at);
        }
        expect(into).toEqual(whole);
      }),
      runs(20),
    );
  },
);

// With this many samples five standard errors of a noise power are 0.03 dB, from the kurtosis of the
// errors (1.8 for even, 2.4 for triangular dither and rounding).
const FRAMES = 500_000;
const AT_48K = 997 / 48000;

describe('the noise that packing leaves', () => {
  const db = expected<Record<string, number>>('S-pcm-01');
  /** dB against 1.0 of a power in steps of 16 bits. */
  const re1 = (steps2: number) => decibel(steps2 / 32768 ** 2);
  const reSine = (steps2: number) => decibel(steps2 / (32768 ** 2 / 2));

  it('is -96.33 dB re 1.0 with dither at 16 bits, -93.32 re a full-scale sine (S-pcm-01, -04)', () => {
    // Amplitude and frequency of S-pcm-04; tolerance 0.1 dB, the reference's.
    const noise = power(errors(sine(FRAMES, AT_48K, 0.25), 16));
    close(re1(noise), expected<number>('S-pcm-04'), {
      abs: 0.1,
      unit: 'dB',
      why: "the reference's tolerance",
    });
    close(re1(noise), db['tpdf_noise_rms_re_1.0'] as number, {
      abs: 0.1,
      unit: 'dB',
      why: "the reference's tolerance",
    });
    close(reSine(noise), db.tpdf_noise_re_fullscale_sine as number, {
      abs: 0.1,
      unit: 'dB',
      why: "the reference's tolerance",
    });
  });

  it('is -101.10 dB re 1.0 without dither at 16 bits (S-pcm-01)', () => {
    const noise = power(errors(sine(FRAMES, AT_48K, 0.9), 16, false));
    close(re1(noise), db['no_dither_noise_rms_re_1.0'] as number, {
      abs: 0.1,
      unit: 'dB',
      why: "the reference's tolerance",
    });
  });

  it('is 98.096 dB under an undithered sine that reaches the top code (S-pcm-03)', () => {
    const top = 32767 / 32768;
    const noise = power(errors(sine(FRAMES, 0.012360679775, top), 16, false));
    const snr = decibel(32767 ** 2 / 2 / noise);
    close(snr, expected<{ exact: number }>('S-pcm-03').exact, {
      abs: 0.03,
      unit: 'dB',
      why: "the reference's tolerance",
    });
  });

  it('is a twelfth of a squared step at 24 bits, which has no dither', () => {
    // 1/12: Bennett, Bell Syst. Tech. J. 27 (1948) 446 (from memory). 1 % is 5 standard errors: the
    // square of an even error has the relative standard deviation sqrt(4/5), and sqrt(N) is 707. The
    // frequency is that of S-pcm-03, since 997/48000 gives 48,000 different errors only.
    const noise = power(errors(sine(FRAMES, 0.012360679775, 0.9), 24));
    close(noise * 12, 1, { abs: 0.01, unit: '', why: '5 standard errors, as above' });
  });
});

describe('dither', () => {
  // Wannamaker, Lipshitz, Vanderkooy & Wright, "A Theory of Nonsubtractive Dither", IEEE Trans.
  // Signal Process. 48 (2000) 499: with triangular dither 2 steps wide the error's mean is 0 and its
  // power a quarter of a squared step, whatever the signal (result from memory).
  it.each([0, 0.1, 0.25, 0.5, 0.75, 1000.37, -20000.5, 32765.9])(
    'gives an error of mean 0 and power 1/4 at the level of %s steps',
    (steps) => {
      const error = errors(new Float64Array(FRAMES).fill(steps / 32768), 16);
      // 5 standard errors: sd of the error 0.5; that of its square from the sample itself.
      close(mean(error), 0, {
        abs: (5 * 0.5) / Math.sqrt(FRAMES),
        unit: '',
        why: '5 standard errors',
      });
      const squares = error.map((e) => e * e);
      const found = mean(squares);
      const spread = Math.sqrt(power(squares.map((square) => square - found)));
      close(found, 0.25, {
        abs: (5 * spread) / Math.sqrt(FRAMES) + Number.MIN_VALUE,
        unit: '',
        why: '5 standard errors',
      });
    },
  );

  it('differs from channel to channel and from sample to sample', () => {
    const silence = new Float64Array(FRAMES);
    const codes = codesOf(pack([silence, silence], '16').bytes, 16);
    const left = silence.map((_, i) => codes[2 * i] as number);
    const right = silence.map((_, i) => codes[2 * i + 1] as number);
    const correlation = (a: Float64Array, b: Float64Array, lag: number) =>
      mean(a.subarray(0, FRAMES - lag).map((x, i) => x * (b[i + lag] as number))) / 0.25;
    // Correlations of independent samples have the standard deviation 1/sqrt(N).
    const limit = 5 / Math.sqrt(FRAMES);
    close(correlation(left, right, 0), 0, {
      abs: limit,
      unit: '',
      why: '5 standard deviations of the correlation of independent samples',
    });
    for (const lag of [1, 2, 3]) {
      close(correlation(left, left, lag), 0, {
        abs: limit,
        unit: '',
        why: '5 standard deviations of the correlation of independent samples',
      });
      close(correlation(left, right, lag), 0, {
        abs: limit,
        unit: '',
        why: '5 standard deviations of the correlation of independent samples',
      });
    }
  });

  it('is the same each time', () => {
    const samples = sine(1000, 0.01, 0.3);
    expect(pack([samples], '16').bytes).toEqual(pack([samples], '16').bytes);
  });
});
