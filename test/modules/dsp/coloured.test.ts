// The slopes in closed form: the coefficients' own response against 1/f and 1/f^2.

import { describe, expect, it } from 'vitest';
import { pinkFilter, redFilter } from '../../../src/modules/dsp/coloured.ts';
import { close } from '../../close.ts';

const RATES = [44_100, 48_000, 88_200, 96_000, 176_400, 192_000];

interface Complex {
  readonly re: number;
  readonly im: number;
}
const add = (a: Complex, b: Complex): Complex => ({ re: a.re + b.re, im: a.im + b.im });
const times = (a: Complex, b: Complex): Complex => ({
  re: a.re * b.re - a.im * b.im,
  im: a.re * b.im + a.im * b.re,
});
const scaled = (a: Complex, by: number): Complex => ({ re: a.re * by, im: a.im * by });
const over = (a: Complex, b: Complex): Complex =>
  scaled(times(a, { re: b.re, im: -b.im }), 1 / (b.re * b.re + b.im * b.im));
const power = (a: Complex): number => a.re * a.re + a.im * a.im;
const ONE: Complex = { re: 1, im: 0 };

/** 1/z on the unit circle. */
const delay = (hertz: number, rate: number): Complex => ({
  re: Math.cos((2 * Math.PI * hertz) / rate),
  im: -Math.sin((2 * Math.PI * hertz) / rate),
});

function pinkPower(rate: number, hertz: number): number {
  const filter = pinkFilter(rate);
  const u = delay(hertz, rate);
  const pole = (weight: number, at: number): Complex =>
    over(scaled(ONE, weight), add(ONE, scaled(u, -at)));
  let sum = add(scaled(ONE, filter.direct), pole(filter.top, -filter.topPole));
  filter.poles.forEach((at, k) => {
    sum = add(sum, pole(filter.weights[k] as number, at));
  });
  return power(sum);
}

function redPower(rate: number, hertz: number): number {
  const { zero, decay, pull, gain } = redFilter(rate);
  const u = delay(hertz, rate);
  const top = over(add(ONE, scaled(u, zero)), add(ONE, scaled(u, pinkFilter(rate).topPole)));
  // r = decay u r + t - pull u i, i = r/(1 - u).
  const integral = over(u, add(ONE, scaled(u, -1)));
  const loop = add(add(ONE, scaled(u, -decay)), scaled(integral, pull));
  return power(over(scaled(top, gain), loop));
}

/** Density of noise of rms 1 from 20 Hz to 20 kHz, per hertz. Source: integrals of 1/f and 1/f^2. */
const wanted = {
  pink: (hertz: number): number => 1 / (Math.log(1000) * hertz),
  red: (hertz: number): number => 1 / ((1 / 20 - 1 / 20_000) * hertz * hertz),
};
const got = { pink: pinkPower, red: redPower };

/** dB off the wanted density, white noise of rms 1 in having 2/rate per hertz. */
function error(colour: 'pink' | 'red', rate: number, hertz: number): number {
  return 10 * Math.log10((got[colour](rate, hertz) * 2) / rate / wanted[colour](hertz));
}

const frequencies = (from: number, to: number): number[] =>
  Array.from({ length: 601 }, (_, k) => from * (to / from) ** (k / 600));

describe.each(['pink', 'red'] as const)('%s noise', (colour) => {
  it.each(RATES)('holds its slope and level within 0.15 dB, 20 Hz to 20 kHz, at %i Hz', (rate) => {
    for (const hertz of frequencies(20, 20_000)) {
      close(error(colour, rate, hertz), 0, {
        abs: 0.15,
        unit: 'dB',
        why: 'what the file promises; the design allows 0.25 dB',
      });
    }
  });

  it.each(RATES)('has rms 1 from 20 Hz to 20 kHz at %i Hz', (rate) => {
    const grid = frequencies(20, 20_000);
    let sum = 0;
    for (let k = 1; k < grid.length; k++) {
      const [a, b] = [grid[k - 1] as number, grid[k] as number];
      // Trapezoidal rule in the logarithm of frequency, where pink noise is level.
      const density = (hertz: number): number => (got[colour](rate, hertz) * 2 * hertz) / rate;
      sum += ((density(a) + density(b)) / 2) * Math.log(b / a);
    }
    close(10 * Math.log10(sum), 0, {
      abs: 0.1,
      unit: 'dB',
      why: 'the ripple, mostly averaged out',
    });
  });

  it.each([22_050, 32_000])('keeps to it up to 0.4 of a low rate, %i Hz', (rate) => {
    for (const hertz of frequencies(20, 0.4 * rate))
      close(error(colour, rate, hertz), 0, {
        abs: 0.25,
        unit: 'dB',
        why: 'what the file promises',
      });
  });

  it('settles: every pole is inside the unit circle', () => {
    for (const rate of [8000, ...RATES]) {
      for (const pole of pinkFilter(rate).poles) expect(pole > 0 && pole < 1).toBe(true);
      // Jury: z^2 - (1 + decay - pull) z + decay.
      const { decay, pull } = redFilter(rate);
      expect(decay < 1 && pull > 0).toBe(true);
    }
  });
});

describe('red noise', () => {
  it('has nothing at 0 Hz, and half its slope undone at 7 Hz (Butterworth: 3.01 dB)', () => {
    expect(redPower(48_000, 1e-3)).toBeLessThan(1e-6 * redPower(48_000, 7));
    close(error('red', 48_000, 7), -10 * Math.log10(2), {
      abs: 0.15,
      unit: 'dB',
      why: 'as everywhere in the band',
    });
  });
});
