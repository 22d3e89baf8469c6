// The frequency shifter against the definition of single sideband: each partial becomes one line, moved by the shift,
// and its image is no stronger than the header says.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { frequencyShifter, hilbertPair } from '../../src/modules/frequency-shifter.ts';
import { between } from '../circuits/cases.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { Bench, jack, type Volts } from './harness.ts';
import { component, lines } from './spectrum.ts';

interface Setup {
  readonly shift: number;
  readonly perVolt?: number;
  readonly control?: Volts;
  readonly rate?: number;
}

/** Both outputs for a sine of 1 V, once the chains have settled; of 15 Hz they take a second to. */
function shifted(hertz: number, setup: Setup, samples = 1 << 15) {
  const { shift, perVolt = 100, control = 0, rate = 48_000 } = setup;
  const bench = new Bench(frequencyShifter, {
    sampleRate: rate,
    settings: { shift, 'per-volt': perVolt },
  });
  const before = Math.round(1.2 * rate);
  const sine = (n: number): number => Math.sin((2 * Math.PI * hertz * n) / rate);
  const out = bench.run(before + samples, { in: sine, control });
  return { up: jack(out, 'up').slice(before), down: jack(out, 'down').slice(before) };
}

const decibels = (gain: number): number => 20 * Math.log10(gain);

describe('a partial', () => {
  it.each([
    [100, 300],
    [1000, 37],
    [5000, 2500],
    [12_000, 6000],
    [440, 0.5],
  ])(
    'of %f Hz moves by %f Hz, up at one jack and down at the other, as loud as it was',
    (hertz, shift) => {
      const { up, down } = shifted(hertz, { shift });
      const allowed = {
        abs: 0.01,
        unit: 'dB',
        why: 'the ripple of the half-band filters, and the window of the measurement',
      };
      close(decibels(component(up, 48_000, hertz + shift).amplitude), 0, allowed);
      const below = Math.abs(hertz - shift);
      if (below > 20) close(decibels(component(down, 48_000, below).amplitude), 0, allowed);
    },
  );

  it.each([
    [44_100, 109],
    [48_000, 109],
    [96_000, 99],
    [192_000, 91],
  ])('leaves an image that much weaker at %i Hz: %i dB', (rate, rejected) => {
    const shift = 1000;
    const edge = 15;
    // Where the image is strongest is where the pair is furthest from a quarter of a turn.
    const chosen = [edge, 17, 23, 40, 90, 300, 2500, 9000, 15_000].map((hertz) => {
      const { up, down } = shifted(hertz, { shift, rate }, 1 << 16);
      const image = Math.abs(hertz - shift);
      return Math.max(
        decibels(component(up, rate, image).amplitude),
        decibels(component(down, rate, hertz + shift).amplitude),
      );
    });
    for (const level of chosen) expect(level).toBeLessThan(-rejected);
  });

  it('of 5 Hz leaves one 25 dB weaker, as the header says', () => {
    const { up } = shifted(5, { shift: 1000 }, 1 << 16);
    const [line, image] = [1005, 995].map((hertz) => component(up, 48_000, hertz).amplitude);
    close(decibels((image as number) / (line as number)), -25, {
      abs: 0.5,
      unit: 'dB',
      why: 'rounded to a decibel',
    });
  });

  it.each([
    [50, 11],
    [1000, 0.7],
  ])('of %i Hz comes %f ms late, as the header says', (hertz, late) => {
    // The delay of what carries no phase of its own: how fast the phase turns with frequency.
    const apart = 2;
    const [below = 0, above = 0] = [-1, 1].map((side) => {
      const tone = hertz + (side * apart) / 2;
      // `shifted` begins to listen after 1.2 s.
      return component(shifted(tone, { shift: 0 }).up, 48_000, tone).phase - 1.2 * tone;
    });
    const turns = below - above - Math.round(below - above - late * 0.001 * apart);
    close((1000 * turns) / apart, late, {
      rel: 0.05,
      unit: 'ms',
      why: 'told to one or two digits',
    });
  });

  it('that goes below 0 Hz comes back up', () => {
    const { down } = shifted(300, { shift: 1000 });
    close(component(down, 48_000, 700).amplitude, 1, { abs: 0.002, unit: 'V', why: 'as above' });
  });

  it('that goes beyond half the rate is gone, and does not fold back', () => {
    const { up } = shifted(18_000, { shift: 9000 });
    const { amplitudes } = lines(up, 48_000);
    const loudest = amplitudes.reduce((most, line) => Math.max(most, line), 0);
    expect(decibels(loudest)).toBeLessThan(-90);
  });

  it('is alone: nothing else comes out, and nothing of the oscillator', () => {
    const { up } = shifted(1000, { shift: 333 });
    const { resolution, amplitudes } = lines(up, 48_000);
    const others = amplitudes.filter((_, k) => Math.abs(k * resolution - 1333) > 20);
    expect(decibels(others.reduce((most, line) => Math.max(most, line), 0))).toBeLessThan(-105);
    const silent = new Bench(frequencyShifter, {}).run(1000, { in: 0 });
    expect(jack(silent, 'up').every((volts) => volts === 0)).toBe(true);
  });
});

describe('control', () => {
  it('moves the shift by its hertz a volt, through zero', () => {
    fc.assert(
      fc.property(between(0, 400), between(0, 400), between(-5, 5), (shift, perVolt, control) => {
        const wanted = 2000 + shift + perVolt * control;
        fc.pre(wanted > 200);
        const { up } = shifted(2000, { shift, perVolt, control }, 1 << 13);
        close(component(up, 48_000, wanted).amplitude, 1, {
          abs: 0.005,
          unit: 'V',
          why: 'a window of 0.17 s: a hertz beside the line would show 0.04 V less',
        });
      }),
      runs(20),
    );
  });

  it('takes up and down for each other where the shift is below zero', () => {
    const over = shifted(1000, { shift: 0, perVolt: 100, control: 2 }, 4096);
    const under = shifted(1000, { shift: 0, perVolt: 100, control: -2 }, 4096);
    const allowed = { abs: 1e-9, unit: 'V', why: 'the phase gathers roundings' };
    under.down.forEach((volts, n) => {
      close(volts, over.up[n] as number, allowed);
    });
  });
});

describe('the pair', () => {
  it.each([0.001, 0.01, 0.1, 0.2])(
    'is the half-band design of 8 coefficients that the oversampling has, for other edges: %f',
    (edge) => {
      // Two chains are a quarter of a turn apart but for as much as the design allows, the same at each
      // of its extremes: equal ripple is what makes it the elliptic one.
      const coefficients = hilbertPair(8, edge);
      const apart = (share: number): number => {
        const chain = (first: number): number => {
          let phase = 0;
          for (let i = first; i < coefficients.length; i += 2) {
            const c = coefficients[i] as number;
            const w = 4 * Math.PI * share;
            // (c - z^-2)/(1 - c z^-2)
            phase +=
              Math.atan2(Math.sin(w), c - Math.cos(w)) -
              Math.atan2(c * Math.sin(w), 1 - c * Math.cos(w));
          }
          return phase;
        };
        const turns = (chain(0) - (chain(1) - 2 * Math.PI * share)) / (2 * Math.PI);
        return Math.abs(Math.abs(turns - Math.round(turns)) - 0.25);
      };
      const peaks: number[] = [];
      const grid = Array.from({ length: 20_001 }, (_, k) => edge * (0.25 / edge) ** (k / 20_000));
      const values = grid.map(apart);
      values.forEach((value, k) => {
        if (
          k > 0 &&
          k < 20_000 &&
          value > (values[k - 1] as number) &&
          value > (values[k + 1] as number)
        )
          peaks.push(value);
      });
      peaks.push(values[0] as number);
      expect(peaks.length).toBeGreaterThanOrEqual(4);
      for (const peak of peaks)
        close(peak, peaks[0] as number, {
          abs: 2e-3 * (peaks[0] as number) + 1e-14,
          unit: 'turns',
          why: 'a grid of 20,000 points misses the tops by less; doubles hold angles to 1e-15',
        });
    },
  );
});

it('keeps to the rails', () => {
  const out = new Bench(frequencyShifter, {}).run(20_000, {
    in: (n) => 12 * Math.sign(Math.sin(n / 50)),
  });
  expect(jack(out, 'up').every((volts) => Math.abs(volts) <= 12)).toBe(true);
});
