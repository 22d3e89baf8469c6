// The shaper: harmonics of a sine through each curve against Fourier's integral and, where there is
// one, the closed form; what folds back against a limit.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { shaper } from '../../src/modules/shaper.ts';
import { between } from '../circuits/cases.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { Bench, jack } from './harness.ts';
import { component, lines } from './spectrum.ts';

const RATE = 48_000;
/** V at which the curves bend, and at which a rectified wave stops; from the module's header. */
const BEND = 5;
const RECTIFIED = 9;
/** Low enough that averaging at four times the rate takes little. */
const HERTZ = 200;

/** The curves as a textbook has them, not as the module does. */
const CURVES: Record<string, (volts: number) => number> = {
  saturate: (v) => BEND * Math.sin(Math.atan(v / BEND)),
  // Arc sine of sine: the triangle.
  fold: (v) => ((2 * BEND) / Math.PI) * Math.asin(Math.sin((Math.PI * v) / (2 * BEND))),
  rectify: (v) => Math.min(Math.abs(v), RECTIFIED),
};

interface Setup {
  readonly shape: string;
  /** V of the sine once driven. */
  readonly peak: number;
  readonly bias?: number;
}

/** The output for a sine of 5 V, once the filters have settled. */
function shaped({ shape, peak, bias = 0 }: Setup, hertz: number, rate = RATE): Float64Array {
  const drive = 20 * Math.log10(peak / 5);
  const bench = new Bench(shaper, { sampleRate: rate, settings: { shape, drive, bias } });
  const sine = (n: number): number => 5 * Math.sin((2 * Math.PI * hertz * n) / rate);
  return jack(bench.run(20_480, { in: sine }), 'out').slice(4096);
}

/** Amplitude of harmonic n of a curve driven by a sine: Fourier's integral, as a sum. */
function harmonic({ shape, peak, bias = 0 }: Setup, n: number): number {
  const curve = CURVES[shape] as (volts: number) => number;
  const points = 1 << 16;
  let re = 0;
  let im = 0;
  for (let i = 0; i < points; i++) {
    const t = (2 * Math.PI * (i + 0.5)) / points;
    const volts = curve(peak * Math.sin(t) + bias);
    re += volts * Math.cos(n * t);
    im += volts * Math.sin(n * t);
  }
  return ((n === 0 ? 1 : 2) * Math.hypot(re, im)) / points;
}

const SETUPS: readonly Setup[] = [
  { shape: 'saturate', peak: 0.5 },
  { shape: 'saturate', peak: 5 },
  { shape: 'saturate', peak: 40 },
  { shape: 'saturate', peak: 5, bias: 2 },
  { shape: 'fold', peak: 4 },
  { shape: 'fold', peak: 12 },
  { shape: 'fold', peak: 33, bias: -3 },
  { shape: 'rectify', peak: 5 },
  { shape: 'rectify', peak: 15 },
  { shape: 'rectify', peak: 4, bias: 3 },
];

describe('harmonics', () => {
  it.each(SETUPS)('are those of the curve: $shape, $peak V, bias $bias', (setup) => {
    const out = shaped(setup, HERTZ);
    for (let n = 0; n <= 9; n++) {
      close(component(out, RATE, n * HERTZ).amplitude, harmonic(setup, n), {
        abs: 0.005,
        unit: 'V',
        why: 'averaging takes at most 1 - cos(pi f/(4 rate)) of a harmonic, 0.04 % at 1.8 kHz',
      });
    }
  });

  it('of a rectified sine: 2/pi, and 4/(pi (4 n^2 - 1)) at twice n times it', () => {
    const out = shaped({ shape: 'rectify', peak: 5 }, HERTZ);
    const why =
      'Fourier series of |sin|: any table, such as Abramowitz & Stegun 23; averaging as above';
    close(component(out, RATE, 0).amplitude, (5 * 2) / Math.PI, { rel: 0.001, unit: 'V', why });
    for (let n = 1; n <= 5; n++) {
      const wanted = (5 * 4) / (Math.PI * (4 * n * n - 1));
      close(component(out, RATE, 2 * n * HERTZ).amplitude, wanted, { rel: 0.002, unit: 'V', why });
      // And no odd ones. The window's own floor is -150 dB.
      expect(component(out, RATE, (2 * n - 1) * HERTZ).amplitude).toBeLessThan(1e-6);
    }
  });

  it('of slight saturation: a third of a^3/8 and a fifth of 3 a^5/128', () => {
    const a = 0.1;
    const out = shaped({ shape: 'saturate', peak: a * BEND }, HERTZ);
    const why =
      'the binomial series x - x^3/2 + 3 x^5/8 has further terms, 1 % of these at a = 0.1';
    close(component(out, RATE, 3 * HERTZ).amplitude, (BEND * a ** 3) / 8, {
      rel: 0.011,
      unit: 'V',
      why,
    });
    close(component(out, RATE, 5 * HERTZ).amplitude, (BEND * 3 * a ** 5) / 128, {
      rel: 0.02,
      unit: 'V',
      why,
    });
  });

  it('of a fold: none until it sets in', () => {
    const out = shaped({ shape: 'fold', peak: 4.99 }, HERTZ);
    for (let n = 2; n <= 9; n++)
      expect(component(out, RATE, n * HERTZ).amplitude).toBeLessThan(1e-6);
  });
});

describe('what folds back', () => {
  /** dB of the loudest product that is no harmonic, 20 Hz to 20 kHz, against the strongest partial. */
  const worst = (setup: Setup, hertz: number, rate: number): number => {
    const { amplitudes, resolution } = lines(shaped(setup, hertz, rate), rate);
    let loudest = 0;
    let strongest = 0;
    amplitudes.forEach((amplitude, i) => {
      const at = i * resolution;
      if (at < 20 || at > 20_000) return;
      strongest = Math.max(strongest, amplitude);
      const away = Math.abs(at - Math.round(at / hertz) * hertz);
      if (away > 10 * resolution) loudest = Math.max(loudest, amplitude);
    });
    return 20 * Math.log10(loudest / strongest);
  };

  it('lies 100 dB under a sine of up to 5 kHz, at any drive up to what is documented', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(44_100, 48_000, 96_000),
        // Rectified waves of more than 9 V ring to the rails at 44.1 kHz, which is no alias.
        fc.constantFrom(['saturate', 20], ['fold', 20], ['rectify', 9]),
        between(0.05, 1),
        between(Math.log(100), Math.log(5000)),
        (rate, [shape, most], part, pitch) => {
          const setup = { shape: shape as string, peak: part * (most as number) };
          expect(worst(setup, Math.exp(pitch), rate)).toBeLessThan(-100);
        },
      ),
      runs(60),
    );
  });

  // Beyond: what was measured, rounded up.
  it.each([
    ['saturate', 50, 4987.6, -70],
    ['saturate', 20, 9876.5, -75],
    ['fold', 20, 9876.5, -90],
    ['fold', 50, 4987.6, -85],
    ['rectify', 5, 9876.5, -110],
  ])('%s, %d V at %d Hz: under %d dB', (shape, peak, hertz, limit) => {
    expect(worst({ shape, peak }, hertz, RATE)).toBeLessThan(limit);
  });
});

describe('control', () => {
  const octave = 20 * Math.log10(2);
  const out = (drive: number, control: number, amount: number): Float64Array => {
    const bench = new Bench(shaper, {
      sampleRate: RATE,
      settings: { shape: 'fold', drive, 'control-amount': amount },
    });
    return jack(bench.run(500, { in: (n) => 5 * Math.sin(n / 9), control }), 'out');
  };

  it.each([
    [1, 1, octave],
    [2, 0.5, octave],
    [-1, 1, -octave],
    [3, 0, 0],
  ])('of %d V moves the drive, at an amount of %d, by %d dB', (control, amount, decibels) => {
    const wanted = out(decibels, 0, 0);
    out(0, control, amount).forEach((volts, n) => {
      close(volts, wanted[n] as number, {
        abs: 1e-9,
        unit: 'V',
        why: 'the same drive, reached in two ways',
      });
    });
  });

  it('never drives it by more than 60 dB', () => {
    expect(out(40, 12, 1)).toEqual(out(40, 6, 1));
  });
});

it('comes to rest', () => {
  const bench = new Bench(shaper, { sampleRate: RATE, settings: { shape: 'fold' } });
  bench.run(1000, { in: (n) => 5 * Math.sin(n / 9) });
  bench.run(4000);
  expect(Math.abs(jack(bench.run(1), 'out')[0] as number)).toBe(0);
});
