// Power spectra against closed forms: lines of sines, the flat line of an impulse, Parseval's theorem,
// the statistics of white noise, and a transform written separately from the package's.

import fc from 'fast-check';
import seedrandom from 'seedrandom';
import { describe, expect, it } from 'vitest';
import {
  binEdges,
  centroid,
  flatness,
  hann,
  Periodogram,
  powerBetween,
  quantileHz,
  sine,
} from '../../../src/measure/spectrum/spectrum.ts';
import { close } from '../../close.ts';
import { powerSpectrum } from '../../fft.ts';
import { expected, reference } from '../../reference.ts';
import { gaussian, noise, tone } from '../synthesis.ts';

const RATE = 48000;

/** No window. */
const rectangular = (size: number): Float64Array => new Float64Array(size).fill(1);

function spectrum(samples: Float64Array, window = rectangular(samples.length)): Float64Array {
  const periodogram = new Periodogram(window);
  periodogram.add(samples);
  return periodogram.energy;
}

const sum = (values: Float64Array) => values.reduce((a, b) => a + b, 0);
const energyOf = (values: Float64Array) => values.reduce((a, b) => a + b * b, 0);

describe('Periodogram', () => {
  it('puts a sine on a bin into that bin alone, with all its energy', () => {
    const power = spectrum(
      tone(1024, { hz: (RATE * 96) / 1024, amplitude: 0.5, sampleRate: RATE }),
    );
    close(power[96] as number, (0.25 / 2) * 1024, {
      rel: 1e-9,
      unit: '',
      why: 'closed form: mean square A^2/2 times the samples; double precision',
    });
    close(sum(power) - (power[96] as number), 0, {
      abs: 1e-18 * 1024,
      unit: '',
      why: 'all other bins are zero but for rounding, 1e-16 of the amplitude in each',
    });
  });

  it('gives an impulse the same power in every bin, the two ends having half', () => {
    const samples = new Float64Array(256);
    samples[17] = 1;
    const power = spectrum(samples);
    for (let k = 1; k < 128; k++)
      close(power[k], 2 / 256, { abs: 5e-15, unit: '', why: 'rounding' });
    close(power[0], 1 / 256, { abs: 5e-15, unit: '', why: 'rounding' });
    close(power[128], 1 / 256, { abs: 5e-15, unit: '', why: 'rounding' });
  });

  it('agrees with a transform written for the tests', () => {
    const samples = noise(512, 1, 'compare');
    const other = powerSpectrum(samples);
    spectrum(samples).forEach((power, k) => {
      const twoSided = power / (k === 0 || k === 256 ? 1 : 2);
      close(twoSided, other[k] as number, { abs: 1e-10, unit: '', why: 'double precision' });
    });
  });

  it('holds the energy of the windowed samples, whatever they are (Parseval)', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 64, maxLength: 64 }),
        fc.constantFrom(rectangular, hann, sine),
        (values, window) => {
          const weights = window(64);
          const samples = Float64Array.from(values);
          const windowed = samples.map((value, n) => value * (weights[n] as number));
          close(sum(spectrum(samples, weights)), energyOf(windowed), {
            abs: 5e-11,
            unit: '',
            why: 'rounding',
          });
        },
      ),
    );
  });

  it('gives two frames together what it gives them one by one', () => {
    const first = noise(256, 1, 'first');
    const second = noise(256, 0.3, 'second');
    const one = new Periodogram(hann(256));
    one.add(first);
    one.add(second);
    const both = new Periodogram(hann(256));
    both.addPair(first, second);
    both.energy.forEach((energy, k) => {
      close(energy, one.energy[k] as number, { abs: 5e-11, unit: '', why: 'rounding' });
    });
  });
});

describe('sine window', () => {
  it('weighs every sample alike when frames overlap by half', () => {
    const weights = sine(64);
    for (let n = 0; n < 32; n++) {
      close((weights[n] as number) ** 2 + (weights[n + 32] as number) ** 2, 1, {
        abs: 5e-15,
        unit: '',
        why: 'rounding',
      });
    }
  });
});

describe('centroid', () => {
  // Frequencies off the bins too: the window's skirts are even, so the centre stays.
  it.each([500, 997, 3000, 12345.6])('is the frequency of a single tone, %f Hz', (hz) => {
    const size = 4096;
    const power = spectrum(tone(size, { hz, amplitude: 0.5, sampleRate: RATE }), hann(size));
    const found = centroid({ edges: binEdges(power.length, RATE), power }, 15);
    close(found as number, hz, {
      rel: 1e-3,
      unit: 'Hz',
      why: 'closed form but for skirts cut off at 0 Hz and half the rate; a bin is 11.7 Hz',
    });
  });

  it('lies between two tones as their powers say', () => {
    const size = 4096;
    const bin = RATE / size;
    const low = tone(size, { hz: 100 * bin, amplitude: 0.6, sampleRate: RATE });
    const high = tone(size, { hz: 900 * bin, amplitude: 0.3, sampleRate: RATE });
    const power = spectrum(low.map((value, n) => value + (high[n] as number)));
    const found = centroid({ edges: binEdges(power.length, RATE), power }, 15);
    close(found as number, bin * (0.8 * 100 + 0.2 * 900), {
      rel: 1e-9,
      unit: 'Hz',
      why: 'closed form: powers 4 to 1',
    });
  });

  it('is null for silence', () => {
    const power = new Float64Array(129);
    expect(centroid({ edges: binEdges(129, RATE), power }, 15)).toBeNull();
  });
});

describe('flatness of white noise', () => {
  function averaged(frames: number, size: number, next: () => number, window = rectangular(size)) {
    const periodogram = new Periodogram(window);
    for (let k = 0; k < frames; k++) {
      periodogram.add(new Float64Array(size).map(next));
    }
    return flatness(periodogram.energy) as number;
  }

  it.each([
    ['S-noise-01', 1],
    ['S-noise-02', 4],
    ['S-noise-03', 16],
    ['S-noise-04', 64],
  ])('%s: %i frames of 4096', (id, frames) => {
    const entry = reference('measure', id);
    close(averaged(frames, 4096, gaussian(id)), expected(entry, 'mean'), {
      abs: 5 * expected(entry, 'sd'),
      unit: '',
      why: '5 sd of one measurement: about one false alarm in 1.7 million seeds',
    });
  });

  it('S-noise-06: uniform noise is as flat', () => {
    const random = seedrandom.alea('uniform');
    const uniform = () => 2 * random() - 1;
    close(averaged(4, 4096, uniform), expected(reference('measure', 'S-noise-06')), {
      abs: 0.0178,
      unit: '',
      why: '5 sd of one measurement',
    });
  });

  it('S-noise-07: short frames read higher than the limit', () => {
    const next = gaussian('short');
    let total = 0;
    for (let trial = 0; trial < 10000; trial++) total += averaged(1, 64, next);
    close(total / 10000, expected(reference('measure', 'S-noise-07'), 'mean'), {
      abs: 0.00398 + 0.001,
      unit: '',
      why: '5 sd of the mean of 10000; and 29 bins are used here, not 31, which reads 0.001 higher',
    });
  });

  it('S-noise-08: a Hann window changes the scatter, not the value', () => {
    close(
      averaged(1, 2048, gaussian('hann'), hann(2048)),
      expected(reference('measure', 'S-noise-08'), 'mean'),
      {
        abs: 0.0771,
        unit: '',
        why: '5 sd of one measurement',
      },
    );
  });

  it('S-noise-09: 16 Hann frames that overlap by half count as 15.2', () => {
    const samples = noise(17 * 1024, 1, 'welch');
    const periodogram = new Periodogram(hann(2048));
    for (let k = 0; k < 16; k++) periodogram.add(samples, k * 1024);
    close(
      flatness(periodogram.energy) as number,
      expected(reference('measure', 'S-noise-09'), 'mean'),
      {
        abs: 0.009,
        unit: '',
        why: '5 sd of one measurement',
      },
    );
  });

  it('is near 0 for a tone, null for silence', () => {
    const samples = tone(4096, { hz: 997, amplitude: 0.5, sampleRate: RATE });
    expect(flatness(spectrum(samples, hann(4096)))).toBeLessThan(1e-6);
    expect(flatness(new Float64Array(2049))).toBeNull();
  });
});

describe('powerBetween', () => {
  it('shares a cut bin out by width, and loses nothing between neighbours', () => {
    const power = noise(129, 1, 'bins').map((value) => value * value);
    const strips = { edges: binEdges(129, RATE), power };
    fc.assert(
      fc.property(fc.double({ min: 0, max: 24000, noNaN: true }), (border) => {
        const parts = powerBetween(strips, 0, border) + powerBetween(strips, border, 24000);
        close(parts, sum(power), { abs: 5e-10, unit: '', why: 'rounding of sums of 129 bins' });
      }),
    );
  });
});

describe('quantileHz', () => {
  it('finds the middle of flat power', () => {
    const strips = { edges: binEdges(1025, RATE), power: new Float64Array(1025).fill(1) };
    // The first and last bin are half as wide, but hold as much.
    close(quantileHz(strips, 0.5, 0) as number, 12000, { abs: 12, unit: 'Hz', why: 'half a bin' });
  });

  it('is null for silence', () => {
    const strips = { edges: binEdges(65, RATE), power: new Float64Array(65) };
    expect(quantileHz(strips, 0.5, 0)).toBeNull();
  });
});
