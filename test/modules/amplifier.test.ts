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

  // The same law by another way: a power less its value at 0 V is expm1, which loses nothing near 0.
  const law = (control: number, unity: number, range: number): number => {
    const nepers = (range * Math.LN10) / 20;
    return control > 0 ? Math.expm1((nepers * control) / unity) / Math.expm1(nepers) : 0;
  };

  it('is the power less what it leaves at 0 V, 1 at unity', () => {
    for (const [unity, range] of [
      [5, 80],
      [5, 60],
      [8, 40],
      [1, 120],
      [10, 20],
    ] as const) {
      expect(gain({ ...response, unity, range }, unity)).toBe(1);
      for (const share of [1.1, 0.9, 0.5, 0.25, 0.1, 1e-3, 1e-6]) {
        const wanted = law(share, 1, range);
        close(gain({ ...response, unity, range, 'max-gain': 24 }, unity * share), wanted, {
          abs: 1e-13 * (wanted + 10 ** (-range / 20)),
          unit: '1',
          why: 'rounding, of what is taken off too',
        });
      }
    }
  });

  it('has a range of 80 dB unless set', () => {
    expect(gain(response, 2)).toBe(gain({ ...response, range: 80 }, 2));
  });

  it('is a straight line of decibels, within 1 dB down to 20 dB above -range', () => {
    for (const range of [40, 60, 80, 120]) {
      for (let decibels = 0; decibels >= 20 - range; decibels--) {
        // The definition of the decibel: gain = 10^(dB/20).
        const heard = 20 * Math.log10(gain({ ...response, range }, 5 * (1 + decibels / range)));
        // 20 dB above its end the power loses a tenth: 20 log10(0.9) = -0.92 dB, and less above. The
        // division by 1 - g0 adds at most 0.09 dB, at 40 dB.
        expect(heard - decibels).toBeLessThan(0.1);
        expect(heard - decibels).toBeGreaterThan(-0.92);
      }
    }
  });

  it('bends to silence without a step as the control reaches 0 V, and is shut below', () => {
    // Near 0 V expm1(x) is x: the gain goes with the volts, so a tenth of them is 20 dB less.
    for (const control of [1e-2, 1e-3, 1e-4]) {
      const decade = gain(response, control) / gain(response, control / 10);
      close(decade, 10, {
        rel: 0.01,
        unit: '1',
        why: 'expm1(x)/x is 1 + x/2, and x is 0.018 here',
      });
    }
    expect(gain(response, 1e-6)).toBeLessThan(1e-9);
    for (const control of [Number.MIN_VALUE, 0, -0, -1e-9, -12])
      expect(gain(response, control)).toBe(0);
    // 0 V and not -0 V, whatever the sign of what goes in: Object.is tells them apart.
    expect(out(response, -1, 0)[0]).toBe(0);
  });

  it('follows a control that changes at every sample', () => {
    const control = new Float64Array(200).map((_, n) => 5 * Math.exp(-n / 40) - 0.5);
    out(response, 1, control, 200).forEach((volts, n) => {
      const wanted = law(control[n] as number, 5, 80);
      close(volts, wanted, { abs: 1e-14, unit: 'V', why: 'rounding' });
    });
  });

  it('ends with the envelope that drives it, and not after it', () => {
    // The power alone would stay 80 dB down until the envelope's last nanovolt,
    // ln(5e9) = 22 tau after its top; this one is 120 dB down when x/(10^4 - 1) is 10^-6 with
    // x = 9.21 v/5, at v = 5.4 mV, which is ln(5/0.0054) = 6.8 tau.
    const control = (tau: number): number => gain(response, 5 * Math.exp(-tau));
    expect(control(6.7)).toBeGreaterThan(1e-6);
    expect(control(6.9)).toBeLessThan(1e-6);
  });
});

describe('exponentialGain', () => {
  it('rises with control everywhere', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1, max: 12, noNaN: true }),
        fc.double({ min: 1e-3, max: 1, noNaN: true }),
        fc.double({ min: 20, max: 120, noNaN: true }),
        (control, step, range) => {
          const low = exponentialGain(control, 5, range);
          const high = exponentialGain(control + step, 5, range);
          expect(control + step <= 0 ? high === 0 : high > low).toBe(true);
        },
      ),
    );
  });

  it('never goes under 0, however near to 0 V', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 1e-9, noNaN: true }), (control) => {
        expect(exponentialGain(control, 5, 80)).toBeGreaterThanOrEqual(0);
      }),
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
        const out = jack(bench.run(50, { in: input, control }), 'out');
        expect(out.every((volts) => Math.abs(volts) <= 12)).toBe(true);
      }),
    );
  });
});
