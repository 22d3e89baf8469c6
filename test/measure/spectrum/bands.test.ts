// Third-octave bands and the long-term spectrum against IEC 61260-1's formulas and closed forms.

import FFT from 'fft.js';
import { describe, expect, it } from 'vitest';
import { bandEdges, midbandHz, thirdOctaves } from '../../../src/measure/spectrum/bands.ts';
import { LongTermSpectrumMeter } from '../../../src/measure/spectrum/long-term-spectrum.ts';
import { centroid, powerBetween } from '../../../src/measure/spectrum/spectrum.ts';
import { close } from '../../close.ts';
import { expected, reference } from '../../reference.ts';
import { gaussian, hits, noise, tone } from '../synthesis.ts';

const RATE = 48000;

function longTerm(channels: readonly Float64Array[], rate = RATE, block = 1000) {
  const meter = new LongTermSpectrumMeter(rate, channels.length);
  const length = channels[0]?.length ?? 0;
  for (let from = 0; from < length; from += block) {
    const part = channels.map((samples) => samples.subarray(from, from + block));
    meter.add(part, Math.min(block, length - from));
  }
  return meter.finish();
}

describe('third-octave bands', () => {
  // S-noise-21; IEC 61260-1: 1000 x 10^(x/10), edges x 10^(-+1/20) (from memory).
  it.each([
    [-10, 100, 89.1250938134, 112.20184543],
    [-3, 501.187233627, 446.683592151, 562.34132519],
    [0, 1000, 891.250938134, 1122.0184543],
    [3, 1995.26231497, 1778.27941004, 2238.72113857],
    [10, 10000, 8912.50938134, 11220.184543],
  ])('band %i has its midband at %f Hz', (x, midband, lower, upper) => {
    const why = 'the reference is given to ten digits';
    close(midbandHz(x), midband, { rel: 1e-9, unit: 'Hz', why });
    close(bandEdges(x)[0], lower, { rel: 1e-9, unit: 'Hz', why });
    close(bandEdges(x)[1], upper, { rel: 1e-9, unit: 'Hz', why });
  });

  it('are named with the preferred numbers', () => {
    const { strips } = longTerm([noise(4800, 0.1, 'names')]);
    const names = thirdOctaves(strips, 0.5).map(({ nominalHz }) => nominalHz);
    expect(names).toEqual([
      25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600,
      2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000, 20000,
    ]);
  });

  it('stop where half the sample rate cuts into them', () => {
    const { strips } = longTerm([noise(4800, 0.1, 'names')], 8000);
    // The 3150 Hz band ends at 3548 Hz, the next at 4467 Hz.
    expect(thirdOctaves(strips, 0.5).at(-1)?.nominalHz).toBe(3150);
  });

  it('are null in silence', () => {
    const { strips } = longTerm([new Float64Array(4800)]);
    expect(thirdOctaves(strips, 0.5).every(({ db }) => db === null)).toBe(true);
  });
});

describe('long-term spectrum', () => {
  it.each([40, 100, 315, 1000, 5000])(
    'reads a full-scale sine of %i Hz as 0 dB in its band',
    (hz) => {
      const { strips } = longTerm([tone(4 * RATE, { hz, amplitude: 1, sampleRate: RATE })]);
      const bands = thirdOctaves(strips, 0.5);
      close(bands.find(({ nominalHz }) => nominalHz === hz)?.db as number, 0, {
        abs: 0.1,
        unit: 'dB',
        why: 'closed form; the skirts of the sine window hold about 1 % of the power',
      });
      for (const { nominalHz, db } of bands) {
        if (nominalHz > 2 * hz || nominalHz < hz / 2) expect(db).toBeLessThan(-20);
      }
    },
  );

  // White noise holds 10 log10((f2 - f1)/24000) of its power in a band: IEC 61260-1 widths.
  it.each([
    ['S-noise-15', 0.259],
    ['S-noise-16', 0.516],
    ['S-noise-17', 0.452],
    ['S-noise-18', 0.227],
  ])('%s: white noise in a band', (id, tolerance) => {
    const [lower, upper] = {
      'S-noise-15': [707.945784384, 1412.53754462],
      'S-noise-16': [177.827941004, 354.813389234],
      'S-noise-17': [891.250938134, 1122.0184543],
      'S-noise-18': [3548.13389234, 4466.83592151],
    }[id] as [number, number];
    const { strips } = longTerm([noise(10 * RATE, 0.25, id)]);
    const share = powerBetween(strips, lower, upper) / powerBetween(strips, 0, RATE / 2);
    close(10 * Math.log10(share), expected(reference('measure', id), 'dB'), {
      abs: tolerance,
      unit: 'dB',
      why: '5 sd of one measurement over 10 s',
    });
  });

  it('rises by 1 dB a third for white noise and stays level for pink', () => {
    const level = (samples: Float64Array) =>
      thirdOctaves(longTerm([samples]).strips, 0.5).filter(
        ({ nominalHz }) => nominalHz >= 250 && nominalHz <= 16000,
      );
    const why = 'least squares over 19 bands of 5.5 s: 5 sd, the lowest band scattering by 0.25 dB';
    close(
      slope(level(noise(2 ** 18, 0.25, 'white'))),
      expected(reference('measure', 'S-noise-19'), 'white_per_base10_third'),
      {
        abs: 0.05,
        unit: 'dB',
        why,
      },
    );
    close(
      slope(level(pink(2 ** 18))),
      expected(reference('measure', 'S-noise-19'), 'pink_per_octave'),
      {
        abs: 0.05,
        unit: 'dB',
        why,
      },
    );
  });

  it('adds up to the mean square, wherever a short hit falls', () => {
    for (const at of [0, 0.0123, 0.03, 0.0999]) {
      const samples = hits(0.15, RATE, [{ at, tau: 0.002, amplitude: 0.5 }]);
      const meanSquare = samples.reduce((sum, x) => sum + x * x, 0) / samples.length;
      const { bins } = longTerm([samples]);
      close(
        bins.reduce((a, b) => a + b, 0),
        meanSquare,
        {
          rel: 1e-9,
          unit: '',
          why: 'Parseval, the window squared and its neighbours adding up to one',
        },
      );
    }
  });

  it('joins its two parts without a gap', () => {
    const { strips } = longTerm([noise(20 * RATE, 0.25, 'seam')]);
    const levels = Array.from({ length: 8 }, (_, k) => {
      const lower = 380 + 20 * k;
      return 10 * Math.log10(powerBetween(strips, lower, lower + 20));
    });
    const expected = 10 * Math.log10((0.25 ** 2 * 20) / 24000);
    for (const level of levels) {
      close(level, expected, { abs: 1.1, unit: 'dB', why: '5 sd: 4.343/sqrt(20 Hz x 20 s)' });
    }
  });

  it('gives the frequency of a low tone as centroid', () => {
    const { strips } = longTerm([tone(4 * RATE, { hz: 50, amplitude: 0.5, sampleRate: RATE })]);
    close(centroid(strips, 15) as number, 50, {
      abs: 0.5,
      unit: 'Hz',
      why: 'the tone starts and stops at once: its skirts weigh a little to the upper side',
    });
  });

  it('averages over the channels, and does not depend on the blocks', () => {
    const left = noise(30000, 0.2, 'left');
    const right = noise(30000, 0.1, 'right');
    const third = noise(30000, 0.3, 'third');
    const together = longTerm([left, right, third], RATE, 30000).strips.power;
    const apart = [left, right, third].map((x) => longTerm([x], RATE, 77).strips.power);
    together.forEach((power, k) => {
      const mean = apart.reduce((sum, each) => sum + (each[k] as number), 0) / 3;
      close(power, mean, { abs: 1e-15, unit: '', why: 'the same sums in another order' });
    });
  });
});

function slope(bands: readonly { db: number | null }[]): number {
  const middle = (bands.length - 1) / 2;
  let top = 0;
  let bottom = 0;
  bands.forEach(({ db }, i) => {
    top += (i - middle) * (db as number);
    bottom += (i - middle) ** 2;
  });
  return top / bottom;
}

/** Noise whose every line has 1/f of power and a random phase: exactly pink. */
function pink(length: number): Float64Array {
  const fft = new FFT(length);
  const next = gaussian('phases');
  const spectrum = new Float64Array(2 * length);
  for (let k = 1; k < length / 2; k++) {
    const phase = 2 * Math.PI * ((next() * 1e3) % 1);
    spectrum[2 * k] = Math.cos(phase) / Math.sqrt(k);
    spectrum[2 * k + 1] = Math.sin(phase) / Math.sqrt(k);
  }
  const out = new Float64Array(2 * length);
  fft.inverseTransform(out, spectrum);
  return new Float64Array(length).map((_, n) => 1000 * (out[2 * n] as number));
}
