// The responses against published second-order sections, digital ones for exactness and analogue
// ones where the rate is far above: see test/reference/filter.json.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { filter, HIGHEST_CUTOFF, integratorGain } from '../../src/modules/filter.ts';
import { close } from '../close.ts';
import { type Entry, expected, reference } from '../reference.ts';
import { runs } from '../runs.ts';
import { Bench, jack } from './harness.ts';

const OUTPUTS: Record<string, string> = { LP: 'low', BP: 'band', HP: 'high', notch: 'notch' };
const ALL = ['low', 'band', 'high', 'notch'];

type Settings = { cutoff?: number; q?: number; 'control-amount'?: number };
const impulse = (sample: number): number => (sample === 0 ? 1 : 0);

/** Impulse response of one output, `samples` long. */
function response(rate: number, settings: Settings, output: string, samples: number, control = 0) {
  const bench = new Bench(filter, { sampleRate: rate, settings });
  return jack(bench.run(samples, { in: impulse, control }), output);
}

/** dB at one frequency: the Fourier sum of an impulse response that has died away. */
function decibels(impulseResponse: Float64Array, rate: number, hertz: number): number {
  let re = 0;
  let im = 0;
  impulseResponse.forEach((volts, n) => {
    re += volts * Math.cos((2 * Math.PI * hertz * n) / rate);
    im += volts * Math.sin((2 * Math.PI * hertz * n) / rate);
  });
  return 10 * Math.log10(re * re + im * im);
}

function settingsOf(entry: Entry): Settings {
  return { cutoff: Number(entry.inputs.f0), q: Number(entry.inputs.Q) };
}

/** The entry's frequencies, Hz. */
const frequencies = (entry: Entry): number[] =>
  Object.keys(entry.expected).map(Number).filter(Number.isFinite);

describe('the response', () => {
  it.each(['S-filter-02', 'S-filter-04', 'S-filter-06', 'S-filter-08', 'S-filter-10'])(
    'is the bilinear transform of the section (%s)',
    (id) => {
      const entry = reference('filter', id);
      const rate = Number(entry.inputs.fs);
      const output = OUTPUTS[String(entry.inputs.type)] as string;
      const h = response(rate, settingsOf(entry), output, 4096);
      for (const hertz of frequencies(entry)) {
        close(decibels(h, rate, hertz), expected(entry, `${hertz}`), {
          abs: 0.001,
          unit: 'dB',
          why: "the reference's own: exact for any bilinear realisation",
        });
      }
    },
  );

  it.each(['S-filter-01', 'S-filter-03', 'S-filter-05', 'S-filter-07', 'S-filter-09'])(
    'is the analogue section where the rate is far above (%s)',
    (id) => {
      const entry = reference('filter', id);
      const rate = 192_000;
      const output = OUTPUTS[String(entry.inputs.type)] as string;
      const h = response(rate, settingsOf(entry), output, 16_384);
      for (const hertz of frequencies(entry)) {
        // Frequencies are bent by (tan x)/x, x = pi f/rate, against the same at the cutoff. No
        // section changes by more than 40 q dB a decade, but for a notch: 40 x^2/(1 - x^2) more.
        const bend = (f: number): number => Math.tan((Math.PI * f) / rate) / ((Math.PI * f) / rate);
        const x2 = (hertz / 1000) ** 2;
        const notch = output === 'notch' ? (40 * x2) / Math.abs(1 - x2) : 0;
        const steepest = 40 * Math.max(1, Number(entry.inputs.Q)) + notch;
        const abs = 1e-4 + steepest * Math.abs(Math.log10(bend(hertz) / bend(1000)));
        close(decibels(h, rate, hertz), expected(entry, `${hertz}`), {
          abs,
          unit: 'dB',
          why: "the bilinear transform's bending of frequencies",
        });
      }
      if (entry.expected.at_f0 !== undefined)
        close(decibels(h, rate, 1000), entry.expected.at_f0, {
          abs: 1e-6,
          unit: 'dB',
          why: 'prewarping makes it exact there; what is left is rounding and the end of the sum',
        });
    },
  );

  it.each(['S-filter-11', 'S-filter-12'])('peaks where and as high as it should (%s)', (id) => {
    const entry = reference('filter', id);
    const rate = 192_000;
    const cutoff = 1000;
    const h = response(rate, { cutoff, q: Number(entry.inputs.Q) }, 'low', 16_384);
    const peak = cutoff * expected(entry, 'peak_f_over_f0');
    const top = decibels(h, rate, peak);
    const allowed = { abs: 0.001, unit: 'dB', why: 'bending of 1e-4 in frequency at 1 kHz' };
    close(top, expected(entry, 'peak_dB'), allowed);
    close(decibels(h, rate, cutoff), expected(entry, 'dB_at_f0'), allowed);
    for (const aside of [0.97, 1.03]) expect(decibels(h, rate, peak * aside)).toBeLessThan(top);
  });

  it('rings as a struck resonator does (S-filter-22)', () => {
    const entry = reference('filter', 'S-filter-22');
    const rate = 48_000;
    const h = response(rate, settingsOf(entry), 'band', rate);
    const rising: number[] = [];
    const peaks: number[] = [];
    for (let n = 1; n < h.length; n++) {
      const [before, now] = [h[n - 1] as number, h[n] as number];
      if (before < 0 && now >= 0) rising.push(n - now / (now - before));
      if (rising.length > 0) {
        const last = peaks.length === rising.length ? (peaks.pop() as number) : 0;
        peaks.push(Math.max(last, now));
      }
    }
    const turns = 20;
    const start = 2;
    const period = ((rising[start + turns] as number) - (rising[start] as number)) / turns / rate;
    close(1 / period, expected(entry, 'ringing_Hz'), {
      rel: 1e-4,
      unit: 'Hz',
      why: 'zero crossings on straight lines between samples',
    });
    const fall = Math.log((peaks[start] as number) / (peaks[start + turns] as number));
    const tau = (turns * period) / fall;
    const allowed = { rel: 0.01, why: "the reference's own, for peaks of a render" };
    close(tau, expected(entry, 'tau_s'), { ...allowed, unit: 's' });
    close(tau * Math.log(1000), expected(entry, 'T60_s'), { ...allowed, unit: 's' });
  });

  it('adds up: low + high is notch, and notch + band is the input (closed form)', () => {
    const bench = new Bench(filter, { sampleRate: 48_000, settings: { q: 3 } });
    const input = Float64Array.from({ length: 500 }, (_, n) => Math.sin(n * n));
    const out = bench.run(500, { in: input });
    const [low, band, high, notch] = ALL.map((name) => jack(out, name)) as Float64Array[];
    input.forEach((volts, n) => {
      const allowed = { abs: 1e-13, unit: 'V', why: 'rounding' };
      close((low?.[n] as number) + (high?.[n] as number), notch?.[n] as number, allowed);
      close((notch?.[n] as number) + (band?.[n] as number), volts, allowed);
    });
  });

  it('passes steady volts at low and notch, and stops them at band and high', () => {
    const bench = new Bench(filter, { sampleRate: 48_000, settings: { cutoff: 200, q: 1 } });
    const out = bench.run(48_000, { in: 5 });
    const allowed = { abs: 1e-12, unit: 'V', why: 'rounding; what was there has died away' };
    for (const [name, volts] of [
      ['low', 5],
      ['notch', 5],
      ['band', 0],
      ['high', 0],
    ] as const)
      close(jack(out, name)[47_999] as number, volts, allowed);
  });
});

describe('control', () => {
  it.each([
    [1, 1, 2],
    [1, -2, 0.25],
    [-0.5, 2, 0.5],
    [0, 5, 1],
  ])('at amount %f, %f V makes the cutoff %f of itself', (amount, control, ratio) => {
    const moved = response(48_000, { cutoff: 800, 'control-amount': amount }, 'low', 400, control);
    const set = response(48_000, { cutoff: 800 * ratio }, 'low', 400);
    moved.forEach((volts, n) => {
      close(volts, set[n] as number, { abs: 1e-14, unit: 'V', why: 'rounding of the cutoff' });
    });
  });

  it('takes effect at the very sample that it changes', () => {
    const bench = new Bench(filter, { sampleRate: 48_000 });
    bench.run(10, { in: 1 });
    const other = new Bench(filter, { sampleRate: 48_000 });
    other.run(10, { in: 1 });
    const low = (b: Bench, control: number) => jack(b.run(1, { in: 1, control }), 'low')[0];
    expect(low(bench, 0)).not.toBe(low(other, 0.5));
  });

  it('moves the cutoff no higher than 0.45 of the rate, where low still has the gain q', () => {
    for (const control of [5, 12]) {
      const h = response(44_100, { cutoff: 5000, q: 2 }, 'low', 2000, control);
      close(decibels(h, 44_100, HIGHEST_CUTOFF * 44_100), 20 * Math.log10(2), {
        abs: 1e-6,
        unit: 'dB',
        why: 'exact at the cutoff',
      });
    }
  });
});

describe('integratorGain', () => {
  it('is tan(pi cutoff), within 1e-10', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-9, max: 0.45, noNaN: true }), (cutoff) => {
        close(integratorGain(cutoff), Math.tan(Math.PI * cutoff), {
          rel: 1e-10,
          unit: '1',
          why: 'as documented',
        });
      }),
      runs(5000),
    );
  });

  it('is 0 at 0, and tan 81 degrees at its end (surd)', () => {
    expect(integratorGain(0)).toBe(0);
    // tan 81 = 1 + sqrt5 + sqrt(5 + 2 sqrt5).
    const surd = 1 + Math.sqrt(5) + Math.sqrt(5 + 2 * Math.sqrt(5));
    close(integratorGain(0.45), surd, { rel: 1e-10, unit: '1', why: 'as documented' });
  });
});

describe('stability', () => {
  it('holds under any modulation: without input the energy it began with is never exceeded', () => {
    const controls = fc.array(fc.double({ min: -12, max: 12, noNaN: true }), {
      minLength: 200,
      maxLength: 200,
    });
    fc.assert(
      fc.property(controls, fc.double({ min: 0.5, max: 100, noNaN: true }), (control, q) => {
        const bench = new Bench(filter, { sampleRate: 48_000, settings: { q } });
        const out = bench.run(200, { in: impulse, control });
        const low = jack(out, 'low');
        const band = jack(out, 'band');
        // Volts at the integrators are low and q band; each is a mean of two states, the first of
        // which was 0. See the header of the module for the law.
        const energy = (n: number): number =>
          (low[n] as number) ** 2 + (q * (band[n] as number)) ** 2;
        const first = 4 * energy(0);
        for (let n = 1; n < 200; n++) expect(energy(n)).toBeLessThanOrEqual(first * (1 + 1e-9));
      }),
      runs(200),
    );
  });

  it.each([44_100, 192_000])(
    'keeps every jack within the rails whatever goes in at %i Hz',
    (rate) => {
      const volts = fc.array(fc.double({ min: -12, max: 12, noNaN: true }), {
        minLength: 300,
        maxLength: 300,
      });
      fc.assert(
        fc.property(
          volts,
          volts,
          fc.double({ min: 5, max: 22_000, noNaN: true }),
          fc.double({ min: 0.5, max: 100, noNaN: true }),
          (input, control, cutoff, q) => {
            const bench = new Bench(filter, { sampleRate: rate, settings: { cutoff, q } });
            const out = bench.run(300, { in: input, control });
            for (const name of ALL) {
              const peak = jack(out, name).reduce((most, v) => Math.max(most, Math.abs(v)), 0);
              expect(peak).toBeLessThanOrEqual(12);
            }
          },
        ),
        runs(100),
      );
    },
  );

  it('stops at the rails when it resonates: q 100 on a 5 V sine at the cutoff', () => {
    const bench = new Bench(filter, { sampleRate: 48_000, settings: { cutoff: 1000, q: 100 } });
    const low = jack(bench.run(48_000, { in: (n) => 5 * Math.sin((Math.PI * n) / 24) }), 'low');
    expect(low.reduce((most, v) => Math.max(most, v), 0)).toBe(12);
    expect(low.reduce((most, v) => Math.min(most, v), 0)).toBe(-12);
  });

  it('comes to rest at exactly 0 V, with no denormal numbers on the way', () => {
    const bench = new Bench(filter, { sampleRate: 48_000, settings: { cutoff: 500, q: 2 } });
    const out = bench.run(48_000, { in: impulse });
    for (const name of ALL) {
      const volts = jack(out, name);
      expect(Math.abs(volts[47_999] as number)).toBe(0);
      expect(volts.some((v) => v !== 0 && Math.abs(v) < 2.3e-308)).toBe(false);
    }
  });
});
