// White noise against the statistics of perfect noise, pink and red noise against their slopes in
// third octaves: see test/reference/noise.json. The seeds are fixed, so these tests do not come and
// go; the tolerances are those of one draw of perfect noise.

import { beforeAll, describe, expect, it } from 'vitest';
import { pinkFilter, redFilter } from '../../src/modules/dsp/coloured.ts';
import { noise } from '../../src/modules/noise.ts';
import { close } from '../close.ts';
import { averageSpectrum, powerSpectrum } from '../fft.ts';
import { type Entry, expected, reference } from '../reference.ts';
import { Bench, jack } from './harness.ts';
import type { Place } from './solo.ts';

const LEVEL = 1.25;

function play(samples: number, place: Partial<Place> = {}) {
  return new Bench(noise, { sampleRate: 48_000, ...place }).run(samples);
}

/** Edges of a third octave of base ten (IEC 61260-1, from memory; S-noise-21). */
const edges = (index: number): [number, number] => [
  1000 * 10 ** (index / 10 - 1 / 20),
  1000 * 10 ** (index / 10 + 1 / 20),
];

/** Mean square between two frequencies, out of a power spectrum of frames `size` long. */
function bandPower(spectrum: Float64Array, rate: number, from: number, to: number): number {
  const size = (spectrum.length - 1) * 2;
  let sum = 0;
  const first = Math.max(1, Math.floor((from * size) / rate));
  const last = Math.min(spectrum.length - 2, Math.ceil((to * size) / rate));
  for (let k = first; k <= last; k++) {
    // Each bin is as wide as the distance to the next; a band's edge cuts through one.
    const low = ((k - 0.5) * rate) / size;
    const high = ((k + 0.5) * rate) / size;
    const inside = Math.min(high, to) - Math.max(low, from);
    if (inside > 0) sum += ((spectrum[k] as number) * inside) / (high - low);
  }
  return (2 * sum) / size;
}

describe('white noise', () => {
  const size = 4096;
  let white: Float64Array;
  let long: Float64Array;
  beforeAll(() => {
    white = jack(play(256 * size, { patched: ['white'] }), 'white');
    long = powerSpectrum(white.subarray(0, 2 ** 19));
  });

  it('is 1.25 V rms unless set, and as set', () => {
    const rms = (x: Float64Array): number =>
      Math.sqrt(x.reduce((sum, v) => sum + v * v, 0) / x.length);
    const allowed = { rel: 5 / Math.sqrt(2 * white.length), unit: 'V', why: '5 sd of an rms' };
    close(rms(white), LEVEL, allowed);
    const soft = play(white.length, { settings: { level: 0.2 }, patched: ['white'] });
    close(rms(jack(soft, 'white')), 0.2, allowed);
  });

  it.each(['S-noise-01', 'S-noise-02', 'S-noise-03', 'S-noise-04', 'S-noise-05'])(
    'is as flat as noise can be (%s)',
    (id) => {
      const entry = reference('noise', id);
      const count = Number(entry.inputs.K);
      const spectrum = averageSpectrum(white.subarray(0, count * size), size);
      let logs = 0;
      let sum = 0;
      for (let k = 1; k < size / 2; k++) {
        logs += Math.log(spectrum[k] as number);
        sum += spectrum[k] as number;
      }
      const bins = size / 2 - 1;
      close(Math.exp(logs / bins) / (sum / bins), expected(entry, 'mean'), {
        abs: 5 * expected(entry, 'sd'),
        unit: '1',
        why: '5 standard deviations of one measured flatness',
      });
    },
  );

  it('is like itself at no other time, up to 1000 samples away (S-noise-10)', () => {
    const bound = expected(reference('noise', 'S-noise-10'), 'all_lags');
    const x = white.subarray(0, 48_000);
    const own = x.reduce((sum, v) => sum + v * v, 0);
    for (let lag = 1; lag <= 1000; lag++) {
      let sum = 0;
      for (let n = lag; n < x.length; n++) sum += (x[n] as number) * (x[n - lag] as number);
      expect(Math.abs(sum / own), `lag ${lag}`).toBeLessThan(bound);
    }
  });

  it.each(['S-noise-15', 'S-noise-16', 'S-noise-17', 'S-noise-18'])(
    'has in each band the share of its width (%s)',
    (id) => {
      const entry: Entry = reference('noise', id);
      const power = bandPower(long, 48_000, Number(entry.inputs.f1), Number(entry.inputs.f2));
      close(10 * Math.log10(power / LEVEL ** 2), expected(entry, 'dB'), {
        abs: 5 * expected(entry, 'sd_dB'),
        unit: 'dB',
        why: '5 sd for 10 s; this is 10.9 s',
      });
    },
  );

  // The definition of its level: V^2 a hertz, the same at every rate.
  it.each([8000, 22_050, 44_100, 88_200, 96_000, 192_000])(
    'is as loud in each band at %i Hz as at 48 kHz, and as loud in all where that is as wide',
    (sampleRate) => {
      for (const patched of [['white'], ['white', 'pink']]) {
        const samples = jack(play(2 ** 18, { sampleRate, patched }), 'white');
        const spectrum = powerSpectrum(samples);
        for (const [from, to] of [
          [200, 3400],
          [6000, 9000],
          [9000, 18_000],
        ] as const) {
          if (to > sampleRate / 2) continue;
          const power = bandPower(spectrum, sampleRate, from, to);
          const density = LEVEL ** 2 / 24_000;
          close(10 * Math.log10(power / (density * (to - from))), 0, {
            abs: 0.05 + (5 * 4.343) / Math.sqrt(((to - from) * samples.length) / sampleRate),
            unit: 'dB',
            why: '5 sd of the power of so many degrees of freedom; the low-pass takes 0.04 dB in the last band',
          });
        }
        const rms = Math.sqrt(samples.reduce((sum, v) => sum + v * v, 0) / samples.length);
        close(rms, LEVEL * Math.sqrt(Math.min(1, sampleRate / 48_000)), {
          rel: 0.005 + 5 / Math.sqrt(samples.length),
          unit: 'V',
          why: '5 sd; a Butterworth low-pass of order 8 passes (pi/16)/sin(pi/16) of its band, 0.3 % in rms',
        });
      }
    },
  );

  it('stops at the supply rails, and gets there at 3 V', () => {
    const loud = jack(play(400_000, { settings: { level: 3 } }), 'white');
    expect(Math.max(...chunks(loud).map((part) => Math.max(...part)))).toBe(12);
    expect(Math.min(...chunks(loud).map((part) => Math.min(...part)))).toBe(-12);
  });
});

/** Parts short enough to hand over as arguments. */
function chunks(x: Float64Array): Float64Array[] {
  return Array.from({ length: Math.ceil(x.length / 10_000) }, (_, k) =>
    x.subarray(k * 10_000, (k + 1) * 10_000),
  );
}

describe.each([44_100, 96_000])('pink and red noise at %i Hz', (sampleRate) => {
  const size = 2 ** 20;
  const spectra: Record<string, Float64Array> = {};
  beforeAll(() => {
    const played = play(size, { sampleRate });
    for (const name of ['white', 'pink', 'red']) spectra[name] = powerSpectrum(jack(played, name));
  });
  const bands = Array.from({ length: 30 }, (_, k) => k - 16.5);
  const level = (name: string, index: number): number =>
    10 * Math.log10(bandPower(spectra[name] as Float64Array, sampleRate, ...edges(index)));
  /** sd of a band's level, dB (S-noise-17's formula). */
  const sd = (index: number): number => {
    const [from, to] = edges(index);
    return 10 / Math.LN10 / Math.sqrt(((to - from) * size) / sampleRate);
  };

  // Thirty bands of a third octave reach from exactly 20 Hz (10^1.3 = 19.95) to 20 kHz.
  it('pink has a thirtieth of its power in each third octave of three decades', () => {
    for (const index of bands) {
      close(level('pink', index), 10 * Math.log10(LEVEL ** 2 / 30), {
        abs: 5 * sd(index) + 0.15,
        unit: 'dB',
        why: '5 sd of the band, and the 0.15 dB of the filter',
      });
    }
  });

  it('red has the power of 1/f^2 in each third octave', () => {
    for (const index of bands) {
      const [from, to] = edges(index);
      const share = (1 / from - 1 / to) / (1 / 20 - 1 / 20_000);
      close(level('red', index), 10 * Math.log10(LEVEL ** 2 * share), {
        abs: 5 * sd(index) + 0.15,
        unit: 'dB',
        why: '5 sd of the band, and the 0.15 dB of the filter',
      });
    }
  });

  it.each([
    ['white', 'white_per_octave'],
    ['pink', 'pink_per_octave'],
    ['red', 'red_per_octave'],
  ] as const)('%s has the slope of S-noise-19 from 100 Hz to 16 kHz', (name, key) => {
    // Least squares over the bands' levels.
    const indices = Array.from({ length: 23 }, (_, k) => k - 10);
    const middle = 1;
    let upper = 0;
    let lower = 0;
    let variance = 0;
    let reach = 0;
    for (const index of indices) {
      const octaves = ((index - middle) / 10) * Math.log2(10);
      upper += octaves * level(name, index);
      lower += octaves * octaves;
      variance += (octaves * sd(index)) ** 2;
      reach += Math.abs(octaves);
    }
    close(upper / lower, expected(reference('noise', 'S-noise-19'), key), {
      abs: (5 * Math.sqrt(variance) + 0.15 * reach) / lower,
      unit: 'dB an octave',
      why: '5 sd of the slope, and the most that 0.15 dB of ripple can tilt it (0.13 in all)',
    });
  });
});

describe('the filters at work', () => {
  it('are the ones that dsp/coloured designs (independent recomputation)', () => {
    const rate = 48_000;
    const played = play(2 * rate);
    const [white, pink, red] = ['white', 'pink', 'red'].map((name) => jack(played, name)) as [
      Float64Array,
      Float64Array,
      Float64Array,
    ];
    const p = pinkFilter(rate);
    const r = redFilter(rate);
    const states = p.poles.map(() => 0);
    let [top, redState, redSum] = [0, 0, 0];
    for (let n = 0; n < white.length; n++) {
      const x = white[n] as number;
      let sum = p.direct * x;
      p.poles.forEach((pole, k) => {
        states[k] = pole * (states[k] as number) + x;
        sum += (p.weights[k] as number) * (states[k] as number);
      });
      const before = top;
      top = x - p.topPole * before;
      sum += p.top * top;
      redState = r.decay * redState + top + r.zero * before - r.pull * redSum;
      redSum += redState;
      if (n < rate) continue;
      // By now what they held at the start has died away by exp(-2 pi 5.66) = 4e-16.
      close(pink[n] as number, sum, { abs: 1e-9, unit: 'V', why: 'rounding' });
      close(red[n] as number, r.gain * redState, { abs: 1e-9, unit: 'V', why: 'rounding' });
    }
  });

  it('run before the render begins, so that the first samples have the full spread', () => {
    // Mean square of the first sample over many seeds; red noise is mostly below 50 Hz.
    const count = 400;
    let pink = 0;
    let red = 0;
    for (let seed = 0; seed < count; seed++) {
      const first = play(1, { sampleRate: 8000, seed: `${seed}` });
      pink += (jack(first, 'pink')[0] as number) ** 2 / count;
      red += (jack(first, 'red')[0] as number) ** 2 / count;
    }
    // All of red noise: 1/f^2 behind the high-pass integrates to pi/(2 sqrt2 7 Hz).
    const wholeRed = (LEVEL ** 2 * Math.PI) / (2 * Math.SQRT2 * 7) / (1 / 20 - 1 / 20_000);
    const allowed = 5 * Math.sqrt(2 / count) + 0.05;
    close(red, wholeRed, {
      rel: allowed,
      unit: 'V^2',
      why: '5 sd, and a warm-up of three time constants',
    });
    expect(pink).toBeGreaterThan(LEVEL ** 2 * (1 - allowed) * 0.85);
  });
});

describe('a noise source', () => {
  const first = (place: Partial<Place>) =>
    ['white', 'pink', 'red'].map((name) => [...jack(play(1000, place), name)]);

  it('gives the same noise for the same seed and name', () => {
    const base = first({ seed: 'workshop', module: 'hiss' });
    expect(first({ seed: 'workshop', module: 'hiss' })).toEqual(base);
  });

  it('gives other noise for another seed and for another name', () => {
    const count = 48_000;
    const take = (place: Partial<Place>) => jack(play(count, place), 'white');
    const base = take({ seed: 'workshop', module: 'hiss' });
    for (const other of [
      take({ seed: 'workshop', module: 'hiss2' }),
      take({ seed: 'workshop2', module: 'hiss' }),
    ]) {
      let sum = 0;
      for (let n = 0; n < count; n++) sum += (base[n] as number) * (other[n] as number);
      close(sum / count / LEVEL ** 2, 0, {
        abs: 5 / Math.sqrt(count),
        unit: '1',
        why: '5 sd of the correlation of independent noise',
      });
    }
  });

  it('gives the same white noise whether or not pink and red are plugged in', () => {
    expect(jack(play(1000, { patched: ['white'] }), 'white')).toEqual(jack(play(1000), 'white'));
  });

  it.each([8000, 44_100, 192_000])('stays within the rails at %i Hz, at its loudest', (rate) => {
    const loud = play(100_000, { sampleRate: rate, settings: { level: 3 } });
    for (const name of ['white', 'pink', 'red'])
      for (const value of jack(loud, name)) if (!(Math.abs(value) <= 12)) expect(value).toBe(name);
  });

  it('says how far it swings in ordinary use: four times its level, at most the rails', () => {
    const facts = (level: number) => noise.jacks({ level })[0];
    expect(facts(1.25)).toMatchObject({ facts: { low: -5, high: 5 } });
    expect(facts(3)).toMatchObject({ facts: { low: -12, high: 12 } });
  });
});
