import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { amplifier, exponentialGain } from '../../src/modules/amplifier.ts';
import { close } from '../close.ts';
import { Bench, jack, type Volts } from './harness.ts';

type Settings = Record<string, number | string>;

function out(settings: Settings, input: Volts, control: Volts, samples = 1): Float64Array {
  const bench = new Bench(amplifier, { sampleRate: 48_000, settings });
  return jack(bench.run(samples, { in: input, control }), 'out');
}
/** Gain at steady control volts, by 1 V in. */
const gain = (settings: Settings, control: number): number =>
  out(settings, 1, control)[0] as number;

const rounding = { rel: 1e-13, unit: '1', why: 'rounding' };

describe('linear', () => {
  it('is control/unity, 5 V unless set (the design, section 4)', () => {
    for (const control of [0.01, 1, 2.5, 5, 7.5]) {
      close(gain({}, control), control / 5, rounding);
      close(gain({ unity: 8 }, control), control / 8, rounding);
    }
    expect(gain({}, 5)).toBe(1);
  });

  it('is shut at and below 0 V', () => {
    for (const control of [0, -0, -0.001, -12]) expect(gain({}, control)).toBe(0);
  });
});

describe('exponential', () => {
  const response = { response: 'exponential' };

  it('is 0 dB at unity and so many decibels a volt lower below (the design, section 4)', () => {
    for (const [unity, range] of [
      [5, 60],
      [8, 40],
      [1, 120],
      [10, 20],
    ] as const) {
      expect(gain({ ...response, unity, range }, unity)).toBe(1);
      for (const share of [0.9, 0.5, 0.25, 0.1, 1e-6]) {
        // The definition of the decibel: gain = 10^(dB/20).
        const decibels = 20 * Math.log10(gain({ ...response, unity, range }, unity * share));
        close(decibels, range * (share - 1), {
          abs: 1e-10,
          unit: 'dB',
          why: 'rounding of a logarithm and a power',
        });
      }
    }
  });

  it('lies `range` decibels down just above 0 V, and is shut there and below', () => {
    close(gain(response, Number.MIN_VALUE), 0.001, rounding);
    for (const control of [0, -0, -1e-9, -12]) expect(gain(response, control)).toBe(0);
  });

  it('follows a control that changes at every sample', () => {
    const control = Float64Array.from({ length: 200 }, (_, n) => 5 * Math.exp(-n / 40) - 0.5);
    out(response, 1, control, 200).forEach((volts, n) => {
      const c = control[n] as number;
      const wanted = c > 0 ? 10 ** (3 * (c / 5 - 1)) : 0;
      close(volts, wanted, { abs: 1e-14, unit: 'V', why: 'rounding' });
    });
  });
});

describe('exponentialGain', () => {
  it('rises with control everywhere', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1, max: 12, noNaN: true }),
        fc.double({ min: 1e-3, max: 1, noNaN: true }),
        (control, step) => {
          const low = exponentialGain(control, 5, 60);
          const high = exponentialGain(control + step, 5, 60);
          expect(control + step <= 0 ? high === 0 : high > low).toBe(true);
        },
      ),
    );
  });
});

describe.each(['linear', 'exponential'])('either response: %s', (response) => {
  it('has at most max-gain, 6 dB unless set', () => {
    close(gain({ response }, 12), 10 ** (6 / 20), rounding);
    close(gain({ response, unity: 1, 'max-gain': 20 }, 12), 10, rounding);
    expect(gain({ response, 'max-gain': 0 }, 12)).toBe(1);
  });

  it('stops at the supply rails', () => {
    const settings = { response, unity: 1, 'max-gain': 24 };
    expect(out(settings, (n) => (n === 0 ? 5 : -5), 12, 2)).toEqual(Float64Array.of(12, -12));
  });

  it.each([44_100, 192_000])('stays finite and bounded whatever goes in at %i Hz', (sampleRate) => {
    const volts = fc.array(fc.double({ min: -12, max: 12, noNaN: true }), {
      minLength: 50,
      maxLength: 50,
    });
    fc.assert(
      fc.property(volts, volts, (input, control) => {
        const settings = { response, unity: 1, range: 120, 'max-gain': 24 };
        const bench = new Bench(amplifier, { sampleRate, settings });
        for (const v of jack(bench.run(50, { in: input, control }), 'out'))
          expect(Math.abs(v)).toBeLessThanOrEqual(12);
      }),
    );
  });
});
