// The ladder filter: its response against four one-poles in a loop, its pitch when it oscillates, and
// the harmonics that its input adds against the Fourier integral of the curve.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ladder } from '../../src/modules/ladder.ts';
import { between } from '../circuits/cases.ts';
import { close } from '../close.ts';
import { powerAt } from '../fft.ts';
import { expected, reference } from '../reference.ts';
import { runs } from '../runs.ts';
import { Bench, jack } from './harness.ts';
import { component, lines } from './spectrum.ts';

/** V at which the input limits, and the feedback; from the module's header. */
const INPUT_LIMIT = 10;
const FEEDBACK_LIMIT = 5.5;

const impulse = (sample: number): number => (sample === 0 ? 0.001 : 0);

function decibels(gain: number): number {
  return 20 * Math.log10(gain);
}

/** Of a response to the impulse. */
function decibelsAt(response: Float64Array, hertz: number, rate: number): number {
  return decibels(Math.sqrt(powerAt(response, hertz / rate)) / 0.001);
}

/** Drive with which a sine of 5 V reaches `peak` times the input's limit. */
function drive(peak: number): number {
  return decibels((peak * INPUT_LIMIT) / 5);
}

/** Sine of 5 V. */
function sine(hertz: number, rate: number): (sample: number) => number {
  return (n) => 5 * Math.sin((2 * Math.PI * hertz * n) / rate);
}

/** Gain of four prewarped one-poles at twice the rate: the closed form with no feedback. */
function fourPoles(hertz: number, cutoff: number, rate: number): number {
  const t = Math.tan((Math.PI * hertz) / (2 * rate)) / Math.tan((Math.PI * cutoff) / (2 * rate));
  return 1 / (1 + t * t) ** 2;
}

/** The highest and, turned over, the lowest of some volts. */
function extremes(volts: Float64Array): [number, number] {
  return [
    volts.reduce((most, v) => Math.max(most, v), 0),
    volts.reduce((most, v) => Math.max(most, -v), 0),
  ];
}

/** How often they go through 0. */
function crossings(volts: Float64Array): number {
  return volts.reduce(
    (count, v, n) => count + (n > 0 && v >= 0 !== (volts[n - 1] as number) >= 0 ? 1 : 0),
    0,
  );
}

describe('the response to small signals', () => {
  it.each(['S-filter-15', 'S-filter-17', 'S-filter-19'])('is the analogue one (%s)', (id) => {
    const entry = reference('ladder', id);
    const rate = 192_000;
    const bench = new Bench(ladder, {
      sampleRate: rate,
      settings: { cutoff: Number(entry.inputs.f0), resonance: Number(entry.inputs.k) / 4 },
    });
    const h = jack(bench.run(32_768, { in: impulse }), 'out');
    for (const hertz of Object.keys(entry.expected).map(Number).filter(Number.isFinite)) {
      close(decibelsAt(h, hertz, rate), expected(entry, `${hertz}`), {
        abs: 0.03,
        unit: 'dB',
        why: 'the bilinear transform at twice 192 kHz lowers 5 kHz by 0.02 dB',
      });
    }
  });

  // The analogue loop of four one-poles: 1/((1 + j f/cutoff)^4 + k), k = 4 resonance.
  it.each([
    [44_100, 10_000, 2],
    [44_100, 18_000, 6.7],
    [48_000, 10_000, 1.7],
    [48_000, 18_000, 5.6],
    [96_000, 10_000, 0.4],
    [96_000, 18_000, 1.3],
  ])(
    'at %d Hz and up to %d Hz is off the analogue one by what its limits say',
    (rate, to, limit) => {
      let most = 0;
      for (const cutoff of [300, 2500, 4500, 9000, 16_000])
        for (const resonance of [0, 0.8]) {
          const bench = new Bench(ladder, { sampleRate: rate, settings: { cutoff, resonance } });
          const out = jack(bench.run(4096, { in: impulse }), 'out');
          for (let hertz = 500; hertz <= to; hertz += 500) {
            const x = hertz / cutoff;
            const [real, imaginary] = [(1 - x * x) ** 2 - 4 * x * x, 4 * x * (1 - x * x)];
            const ideal = decibels(1 / Math.hypot(real + 4 * resonance, imaginary));
            if (ideal > -50) most = Math.max(most, Math.abs(decibelsAt(out, hertz, rate) - ideal));
          }
        }
      expect(most).toBeLessThan(limit);
      expect(most).toBeGreaterThan(0.9 * limit);
    },
  );

  it('follows control by an octave a volt, and stays under its highest cutoff', () => {
    const rate = 48_000;
    const gain = (cutoff: number, control: number, hertz: number): number => {
      const bench = new Bench(ladder, { sampleRate: rate, settings: { cutoff } });
      const h = jack(bench.run(8192, { in: impulse, control }), 'out');
      return component(h, rate, hertz).amplitude;
    };
    for (const [control, cutoff] of [
      [1, 1000],
      [-2, 125],
      [12, 0.45 * rate],
    ] as const) {
      close(gain(500, control, 700), gain(cutoff, 0, 700), {
        rel: 1e-9,
        unit: '',
        why: 'the same cutoff, reached in two ways',
      });
    }
  });
});

describe('singing at 110 %', () => {
  // k (1 - a^2/9) = 4 with k = 4.4.
  const peak = FEEDBACK_LIMIT * 3 * Math.sqrt(1 - 1 / 1.1);
  const cases = [44_100, 48_000, 96_000].flatMap((rate) =>
    [60, 110, 440, 1760, 4000, 8000].map((cutoff) => [rate, cutoff] as const),
  );

  it.each(cases)('at %d Hz is in tune at %d Hz', (rate, cutoff) => {
    const bench = new Bench(ladder, { sampleRate: rate, settings: { cutoff, resonance: 1.1 } });
    // Sixty time constants of its growth from this push, each 6.6/cutoff.
    bench.run(Math.round((400 / cutoff) * rate), { in: (n) => (n < 10 ? 5 : 0) });
    const length = 16_384;
    const first = component(jack(bench.run(length), 'out'), rate, cutoff);
    const second = component(jack(bench.run(length), 'out'), rate, cutoff);
    // The phase gained from one stretch to the next, less what the cutoff itself would gain.
    const turns = second.phase - first.phase - (cutoff * length) / rate;
    const off = ((turns - Math.round(turns)) * rate) / length;
    const cents = 1200 * Math.log2(1 + Math.abs(off) / cutoff);
    expect(cents).toBeLessThan(5);
    close(second.amplitude, peak, {
      rel: 0.02,
      unit: 'V',
      why: 'the describing function leaves out the third harmonic, which four poles put 40 dB down; at 8 kHz the clip is 1 % off',
    });
  });

  it('sings within a second at any pitch, whatever the resonance above 100 %', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(44_100, 48_000, 96_000),
        between(Math.log(5), Math.log(20_000)),
        between(1.001, 1.1),
        between(-4, 4),
        (rate, octaves, resonance, control) => {
          const singing = Math.exp(octaves);
          // Set elsewhere and moved there by volts, as far as settings go.
          const cutoff = Math.min(Math.max(singing * 2 ** -control, 5), 20_000);
          const settings = { cutoff, resonance };
          const bench = new Bench(ladder, { sampleRate: rate, settings });
          const volts = Math.log2(singing / cutoff);
          const out = jack(bench.run(rate, { control: volts }), 'out');
          const wanted = FEEDBACK_LIMIT * 3 * Math.sqrt(1 - 1 / resonance);
          for (const second of [out.subarray(0, rate / 2), out.subarray(rate / 2)])
            close(Math.max(...extremes(second)), wanted, {
              rel: singing < 8000 ? 0.03 : 0.2,
              unit: 'V',
              why: 'as above; the clip is off by up to 20 % at the highest cutoff, and crests fall between samples',
            });
          const hertz = crossings(out) / 2;
          close(hertz, Math.min(singing, 0.45 * rate), {
            abs: 1 + 0.004 * singing,
            unit: 'Hz',
            why: 'a crossing more or less in a second, and 5 cents as above',
          });
        },
      ),
      runs(60),
    );
  });

  it('is singing, and is silent below 100 % until something comes in', () => {
    const alone = (resonance: number): Float64Array => {
      const settings = { cutoff: 200, resonance };
      const bench = new Bench(ladder, { sampleRate: 48_000, settings });
      bench.run(96_000);
      return jack(bench.run(4800), 'out');
    };
    close(Math.max(...alone(1.1)), peak, {
      rel: 0.02,
      unit: 'V',
      why: 'as above',
    });
    expect(alone(0.99).every((volts) => volts === 0)).toBe(true);
  });

  it('dies away below 100 %', () => {
    const bench = new Bench(ladder, {
      sampleRate: 48_000,
      settings: { cutoff: 500, resonance: 0.98 },
    });
    bench.run(48_000, { in: impulse });
    const rest = jack(bench.run(4800), 'out');
    expect(Math.max(...rest.map(Math.abs))).toBeLessThan(1e-9);
  });
});

describe('what the input adds', () => {
  const rate = 48_000;
  const hertz = 1000;
  const cutoff = 20_000;

  /** Peak of each harmonic of 1 kHz for a sine that reaches `peak` times the limit. */
  function harmonics(peak: number): (n: number) => number {
    const bench = new Bench(ladder, { sampleRate: rate, settings: { cutoff, drive: drive(peak) } });
    const volts = jack(bench.run(16_384, { in: sine(hertz, rate) }), 'out').subarray(4096);
    return (n) => component(volts, rate, n * hertz).amplitude;
  }

  /** Sine coefficient n of x/sqrt(1 + x^2), x = a sin t: the Fourier integral, as a sum. */
  function bent(a: number, n: number): number {
    const points = 4096;
    let sum = 0;
    for (let i = 0; i < points; i++) {
      const t = (2 * Math.PI * (i + 0.5)) / points;
      const x = a * Math.sin(t);
      sum += ((2 * x) / Math.hypot(1, x)) * Math.sin(n * t);
    }
    return sum / points;
  }

  it.each([0.1, 1, 5])('is what the bend makes of a sine of %d times the limit', (a) => {
    const measured = harmonics(a);
    for (const n of [1, 3, 5]) {
      const wanted = INPUT_LIMIT * Math.abs(bent(a, n)) * fourPoles(n * hertz, cutoff, rate);
      close(measured(n), wanted, {
        rel: 0.0025 * n,
        unit: 'V',
        why: 'averaging from sample to sample takes at most 1 - cos(pi n hertz/(2 rate)), 0.05 % at 1 kHz and 1.3 % at 5 kHz',
      });
    }
    for (const n of [2, 4]) expect(measured(n)).toBeLessThan(1e-6 * a);
  });

  it('begins as a third harmonic of a^3/8', () => {
    const a = 0.05;
    const wanted = ((INPUT_LIMIT * a ** 3) / 8) * fourPoles(3 * hertz, cutoff, rate);
    close(harmonics(a)(3), wanted, {
      rel: 0.008,
      unit: 'V',
      why: 'the next term of the series is 15 a^2/16 of it, 0.2 %; averaging takes 0.5 % at 3 kHz',
    });
  });

  // Loudest product that is no harmonic, 20 Hz to 20 kHz, against the fundamental. The last is not
  // clean: a sine of 5 kHz driven into a square is more than twice the rate can hold.
  it.each([
    [441.3, 2.5, -120],
    [1234.5, 5, -120],
    [4987.6, 1.2, -120],
    [4987.6, 5, -65],
  ])('folds back little: %d Hz, %d times the limit', (tone, peak, limit) => {
    const bench = new Bench(ladder, { sampleRate: rate, settings: { cutoff, drive: drive(peak) } });
    const volts = jack(bench.run(20_480, { in: sine(tone, rate) }), 'out').slice(4096);
    const { amplitudes, resolution } = lines(volts, rate);
    let worst = 0;
    amplitudes.forEach((amplitude, i) => {
      const at = i * resolution;
      const away = Math.abs(at - Math.round(at / tone) * tone);
      if (at > 20 && at < 20_000 && away > 10 * resolution) worst = Math.max(worst, amplitude);
    });
    expect(decibels(worst / Math.max(...amplitudes))).toBeLessThan(limit);
  });
});

it('comes to rest', () => {
  const bench = new Bench(ladder, { sampleRate: 48_000, settings: { cutoff: 5000 } });
  bench.run(48_000, { in: impulse });
  expect(jack(bench.run(1), 'out')).toEqual(Float64Array.of(0));
});
