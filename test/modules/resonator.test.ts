// The resonator against the ringing of a two-pole band-pass: exp(-t/tau) sin(2 pi f t).

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { resonator } from '../../src/modules/resonator.ts';
import { close } from '../close.ts';
import { expected, reference } from '../reference.ts';
import { runs } from '../runs.ts';
import { Bench, jack } from './harness.ts';
import { component } from './spectrum.ts';

const RATES = [44_100, 48_000, 96_000, 192_000];

type Settings = Record<string, number>;

/** Numbers spread evenly: fast-check's own doubles crowd about 0. */
function between(min: number, max: number): fc.Arbitrary<number> {
  return fc.integer({ min: 0, max: 1000 }).map((part) => min + ((max - min) * part) / 1000);
}

/** The output after a strike of 5 V at the first sample. */
function struck(rate: number, settings: Settings, seconds: number, volts = {}): Float64Array {
  const bench = new Bench(resonator, { sampleRate: rate, settings });
  return jack(bench.run(Math.round(seconds * rate), { strike: 5, ...volts }), 'out');
}

/** Times at which the signal passes 0 upwards, s, by straight lines between samples. */
function crossings(signal: Float64Array, rate: number): number[] {
  const times: number[] = [];
  for (let n = 1; n < signal.length; n++) {
    const before = signal[n - 1] as number;
    const now = signal[n] as number;
    if (before < 0 && now >= 0) times.push((n - 1 + before / (before - now)) / rate);
  }
  return times;
}

/** Frequency from the first and last crossing, Hz. */
function pitch(signal: Float64Array, rate: number): number {
  const times = crossings(signal, rate);
  return (times.length - 1) / ((times.at(-1) as number) - (times[0] as number));
}

/** Time for 60 dB, s, from the power of the first and the last of four equal stretches. */
function sixtyDecibels(signal: Float64Array, rate: number): number {
  const quarter = Math.floor(signal.length / 4);
  const power = (from: number): number =>
    signal.subarray(from, from + quarter).reduce((sum, v) => sum + v * v, 0);
  const lost = 10 * Math.log10(power(0) / power(3 * quarter));
  return (60 / lost) * ((3 * quarter) / rate);
}

describe('a strike', () => {
  const entry = reference('filter', 'S-filter-22');
  const hertz = expected(entry, 'ringing_Hz');
  const decay = expected(entry, 'T60_s');
  const tau = expected(entry, 'tau_s');

  it.each(RATES)('S-filter-22: rings as the circuit does, at %d Hz', (rate) => {
    const out = struck(rate, { 'at-zero': hertz, decay }, 0.3);
    out.forEach((volts, n) => {
      const t = n / rate;
      close(volts, 5 * Math.exp(-t / tau) * Math.sin(2 * Math.PI * hertz * t), {
        abs: 1e-9,
        unit: 'V',
        why: 'the closed form itself, but for 12 digits in the reference and rounding',
      });
    });
  });

  it.each(RATES)('S-filter-22: has the pitch and decay of its q, measured at %d Hz', (rate) => {
    const out = struck(rate, { 'at-zero': hertz, decay }, 0.2);
    const cents = 1200 * Math.log2(pitch(out, rate) / hertz);
    close(cents, 0, { abs: 1, unit: 'cents', why: 'what an ear could never tell' });
    const { f0, Q } = entry.inputs as { f0: number; Q: number };
    close(sixtyDecibels(out, rate), (Math.log(1000) * Q) / (Math.PI * f0), {
      rel: 0.01,
      unit: 's',
      why: 'the stretches do not hold whole periods',
    });
  });

  it('rings in proportion to its volts and level', () => {
    const level = 0.4;
    const at = (volts: number, settings: Settings): number =>
      Math.max(
        ...jack(
          new Bench(resonator, { sampleRate: 48_000, settings }).run(4800, { strike: volts }),
          'out',
        ),
      );
    close(at(2.5, { 'strike-level': level }), 0.2 * at(5, {}), {
      rel: 1e-9,
      unit: 'V',
      why: 'a straight circuit',
    });
  });

  it('ignores the end of the gate, whatever its length', () => {
    const settings = { 'at-zero': 200, decay: 0.3 };
    const long = struck(48_000, settings, 0.2);
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 4000 }), (length) => {
        const bench = new Bench(resonator, { sampleRate: 48_000, settings });
        const out = jack(bench.run(9600, { strike: (n) => (n < length ? 5 : 0) }), 'out');
        expect(out).toEqual(long);
      }),
      runs(20),
    );
  });

  it('that is too hard ends at the rails, its phase untouched', () => {
    const rate = 48_000;
    const [hertz, decay, second] = [220, 1, 700];
    const bench = new Bench(resonator, {
      sampleRate: rate,
      settings: { 'at-zero': hertz, decay, 'strike-level': 4 },
    });
    const strikes = (n: number): number => (n % second < 100 ? 10 : 0);
    const out = jack(bench.run(2 * second, { strike: strikes }), 'out');
    // A strike of 40 V adds to the pointer along it; then it is 12 V long again.
    const angle = (2 * Math.PI * hertz * second) / rate;
    const left = 12 * 0.001 ** (second / rate / decay);
    const turned = Math.atan2(left * Math.sin(angle), left * Math.cos(angle) + 40);
    out.forEach((volts, n) => {
      const t = (n % second) / rate;
      const start = n < second ? 0 : turned;
      const wanted = 12 * 0.001 ** (t / decay) * Math.sin(2 * Math.PI * hertz * t + start);
      close(volts, wanted, { abs: 1e-9, unit: 'V', why: 'the closed form, but for rounding' });
    });
  });
});

describe('volts', () => {
  it('move the pitch by an octave each, added to the tuning', () => {
    fc.assert(
      fc.property(between(-2, 4), between(-12, 12), (volts, tune) => {
        const out = struck(96_000, { 'at-zero': 100, tune, decay: 5 }, 0.5, { pitch: volts });
        const wanted = 100 * 2 ** (volts + tune / 12);
        close(1200 * Math.log2(pitch(out, 96_000) / wanted), 0, {
          abs: 1,
          unit: 'cents',
          why: 'crossings between samples are read off a straight line',
        });
      }),
      runs(20),
    );
  });

  it('double the decay each, at 100 %', () => {
    for (const [volts, amount, times] of [
      [1, 1, 2],
      [-2, 1, 0.25],
      [2, 0.5, 2],
      [3, 0, 1],
    ] as const) {
      const settings = { 'at-zero': 1000, decay: 0.4, 'decay-amount': amount };
      const out = struck(48_000, settings, 0.2, { decay: volts });
      close(sixtyDecibels(out, 48_000), 0.4 * times, {
        rel: 0.01,
        unit: 's',
        why: 'the stretches do not hold whole periods',
      });
    }
  });

  it('that sweep the pitch leave the decay as it is', () => {
    const still = struck(48_000, { 'at-zero': 100, decay: 0.5 }, 0.5);
    const swept = struck(48_000, { 'at-zero': 100, decay: 0.5 }, 0.5, {
      pitch: (n: number) => 2 * Math.exp(-n / 2000) + Math.sin(n),
    });
    close(sixtyDecibels(swept, 48_000), sixtyDecibels(still, 48_000), {
      rel: 0.05,
      unit: 's',
      why: 'the stretches hold different parts of periods',
    });
  });
});

it('passes sound as a band-pass whose gain at the middle is q', () => {
  const [hertz, rate] = [500, 192_000];
  // tau = q/(pi f0).
  for (const q of [5, 20]) {
    const decay = (Math.log(1000) * q) / (Math.PI * hertz);
    const bench = new Bench(resonator, {
      sampleRate: rate,
      settings: { 'at-zero': hertz * Math.sqrt(1 - 1 / (4 * q * q)), decay },
    });
    const gain = (at: number): number => {
      const sine = (n: number): number => 0.01 * Math.sin((2 * Math.PI * at * n) / rate);
      bench.run(48_000, { in: sine });
      // Whole numbers of periods, so that the sine goes on where it was.
      return component(jack(bench.run(48_000, { in: sine }), 'out'), rate, at).amplitude / 0.01;
    };
    for (const at of [100, 400, 500, 600, 2000]) {
      const s = at / hertz;
      close(gain(at), s / Math.hypot(1 - s * s, s / q), {
        rel: 0.02,
        unit: '',
        why: 'the circuit answers steps exactly and so is 1/(4 q^2) off for sines, 1 % at q = 5',
      });
    }
  }
});

it('comes to rest', () => {
  const bench = new Bench(resonator, { sampleRate: 48_000, settings: { decay: 0.05 } });
  bench.run(48_000, { strike: 5 });
  expect(jack(bench.run(1, { strike: 5 }), 'out')).toEqual(Float64Array.of(0));
});

describe('the band-pass from in to out', () => {
  // Against f/f0 over |1 - x^2 + j x/q|, the analogue one (Sedra & Smith, filters chapter, from memory).
  it.each([100, 1000, 5000, 10_000])('of %d Hz is off by no more than is printed', (hertz) => {
    const [rate, decay] = [48_000, 0.05];
    const tau = decay / Math.log(1000);
    const bench = new Bench(resonator, {
      sampleRate: rate,
      settings: { 'at-zero': hertz, decay },
    });
    const h = jack(bench.run(8192, { in: (n) => (n === 0 ? 1 : 0) }), 'out');
    const natural = Math.hypot(2 * Math.PI * hertz, 1 / tau);
    for (const f of [50, 500, 2000, 10_000, 18_000]) {
      const x = (2 * Math.PI * f) / natural;
      const analogue =
        ((2 * Math.PI * hertz) / natural) * (x / Math.hypot(1 - x * x, (2 * x) / (natural * tau)));
      const { re, im } = transform(h, f / rate);
      const off = 20 * Math.log10(Math.hypot(re, im) / analogue);
      const most = f > 10_000 ? 2.2 : 0.7;
      expect(off).toBeLessThan(most);
      expect(off).toBeGreaterThan(hertz > 5000 ? -1.5 : -0.4);
    }
  });

  function transform(signal: Float64Array, share: number): { re: number; im: number } {
    let re = 0;
    let im = 0;
    signal.forEach((volts, n) => {
      re += volts * Math.cos(2 * Math.PI * share * n);
      im += volts * Math.sin(2 * Math.PI * share * n);
    });
    return { re, im };
  }
});
