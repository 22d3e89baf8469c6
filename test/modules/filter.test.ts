// The responses against the analogue section, in closed form and as published: test/reference/filter.json.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { filter, HIGHEST_CUTOFF } from '../../src/modules/filter.ts';
import { between } from '../circuits/cases.ts';
import { close } from '../close.ts';
import { powerAt } from '../fft.ts';
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
  return 10 * Math.log10(powerAt(impulseResponse, hertz / rate));
}

function settingsOf(entry: Entry): Settings {
  return { cutoff: Number(entry.inputs.f0), q: Number(entry.inputs.Q) };
}

/** The entry's frequencies, Hz. */
const frequencies = (entry: Entry): number[] =>
  Object.keys(entry.expected).map(Number).filter(Number.isFinite);

/** dB of the analogue section. */
function analogue(type: string, x: number, q: number): number {
  const top: Record<string, number> = { LP: 1, BP: x / q, HP: x * x, notch: 1 - x * x };
  return 20 * Math.log10(Math.abs(top[type] as number) / Math.hypot(1 - x * x, x / q));
}

/** dB that the module's header allows, the cutoff being such a share of the rate: 19 kHz of 48 kHz. */
function allowance(type: string, share: number): number {
  return type === 'LP' && share > 19 / 48 ? 0.6 : 0.5;
}

/** Hz, up to and with 18 kHz of 48 kHz, or the same share of a lower rate. */
function* heard(rate: number): Generator<number> {
  const top = Math.min(18_000, (18 / 48) * rate);
  for (let hertz = 40; hertz < top; hertz *= 1.17) yield hertz;
  yield top;
}

describe('the response', () => {
  it('is the analogue one within 0.5 dB to 18 kHz of 48 kHz, at any cutoff, q and rate', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(44_100, 48_000, 96_000),
        between(Math.log(300), Math.log(21_000)),
        between(Math.log(0.5), Math.log(12)),
        fc.constantFrom('LP', 'BP', 'HP', 'notch'),
        fc.boolean(),
        (rate, pitch, sharpness, type, isMoved) => {
          const cutoff = Math.min(Math.exp(pitch), HIGHEST_CUTOFF * rate);
          const q = Math.exp(sharpness);
          // Set, or set elsewhere and moved there by volts.
          const set = isMoved ? 700 : cutoff;
          const control = Math.log2(cutoff / set);
          const name = OUTPUTS[type] as string;
          const samples = 2 ** Math.ceil(Math.log2((7 * rate * Math.max(q, 1)) / cutoff + 512));
          const bench = new Bench(filter, { sampleRate: rate, settings: { cutoff: set, q } });
          const out = jack(bench.run(samples, { in: impulse, control }), name);
          const allowed = allowance(type, cutoff / rate);
          for (const hertz of heard(rate)) {
            const wanted = analogue(type, hertz / cutoff, q);
            // What is 90 dB down is lost in the end of the sum.
            if (wanted < -90) continue;
            close(decibels(out, rate, hertz), wanted, {
              abs: allowed,
              unit: 'dB',
              why: 'as documented',
            });
          }
        },
      ),
      runs(40),
    );
  });

  it('is no more than 0.5 dB off at 18 kHz where a plain bilinear section is 12 dB off', () => {
    const [rate, cutoff, q] = [48_000, 1000, 10];
    const bent = Math.tan(Math.PI * 0.375) / Math.tan(Math.PI / 48);
    for (const type of ['LP', 'BP']) {
      const wanted = analogue(type, 18, q);
      const out = response(rate, { cutoff, q }, OUTPUTS[type] as string, 16_384);
      close(decibels(out, rate, 18_000), wanted, {
        abs: 0.5,
        unit: 'dB',
        why: 'the aim at 18 kHz',
      });
      expect(wanted - analogue(type, bent, q)).toBeGreaterThan(type === 'LP' ? 12 : 6);
    }
  });

  it.each(['S-filter-01', 'S-filter-03', 'S-filter-05', 'S-filter-07', 'S-filter-09'])(
    'is the published analogue section (%s)',
    (id) => {
      const entry = reference('filter', id);
      const rate = 48_000;
      const output = OUTPUTS[String(entry.inputs.type)] as string;
      const h = response(rate, settingsOf(entry), output, 16_384);
      for (const hertz of frequencies(entry))
        close(decibels(h, rate, hertz), expected(entry, `${hertz}`), {
          abs: 0.25,
          unit: 'dB',
          why: 'a cutoff of 1 kHz is 48 times under the rate: half of what is documented',
        });
      if (entry.expected.at_f0 !== undefined)
        close(decibels(h, rate, 1000), entry.expected.at_f0, {
          abs: 0.01,
          unit: 'dB',
          why: 'the poles are the analogue ones; the numerators agree at other frequencies',
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
    const allowed = { abs: 0.001, unit: 'dB', why: 'a cutoff 192 times under the rate' };
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

  it.each([
    [200, 0.01, 0.1],
    [1000, 0.01, 0.1],
    [5000, 0.1, 0.3],
  ])('of %d Hz adds up: low + high is notch, and notch + band the input', (cutoff, one, other) => {
    const settings = { cutoff, q: 3 };
    const out = new Bench(filter, { sampleRate: 48_000, settings }).run(8192, { in: impulse });
    const without = (a: string, b: string, sum: Float64Array): Float64Array => {
      const [first, second] = [jack(out, a), jack(out, b)];
      return sum.map((volts, n) => volts - (first[n] as number) - (second[n] as number));
    };
    const input = new Float64Array(8192).map((_, n) => impulse(n));
    for (let hertz = 50; hertz <= 2 * cutoff; hertz *= 1.1) {
      // The difference itself, phase and all; in the analogue circuit it is nothing.
      const low = decibels(without('low', 'high', jack(out, 'notch')), 48_000, hertz);
      const band = decibels(without('notch', 'band', input), 48_000, hertz);
      expect([10 ** (low / 20) < one, 10 ** (band / 20) < other]).toEqual([true, true]);
    }
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

  it('moves the cutoff no higher than 0.45 of the rate', () => {
    const highest = response(44_100, { cutoff: HIGHEST_CUTOFF * 44_100, q: 2 }, 'low', 2000);
    for (const control of [5, 12]) {
      const moved = response(44_100, { cutoff: 5000, q: 2 }, 'low', 2000, control);
      moved.forEach((volts, n) => {
        const why = 'rounding of the cutoff';
        close(volts, highest[n] as number, { abs: 1e-12, unit: 'V', why });
      });
    }
  });
});

describe('stability', () => {
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
