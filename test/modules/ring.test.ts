// The ring modulator against the product formula of two sines.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ring } from '../../src/modules/ring.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { Bench, jack } from './harness.ts';
import { component, lines } from './spectrum.ts';

const RATE = 44_100;

function sine(hertz: number, peak = 5): (sample: number) => number {
  return (n) => peak * Math.sin((2 * Math.PI * hertz * n) / RATE);
}

/** The output once the filters have settled. */
function product(a: (n: number) => number, b: (n: number) => number): Float64Array {
  const bench = new Bench(ring, { sampleRate: RATE });
  return jack(bench.run(20_480, { a, b }), 'out').slice(4096);
}

describe('two sines of 5 V', () => {
  it.each([
    [440, 1000],
    [123, 4567],
    [3000, 14_000],
  ])('%d and %d Hz give 2.5 V of their sum and of their difference', (low, high) => {
    const volts = product(sine(low), sine(high));
    // sin a sin b = (cos(a - b) - cos(a + b))/2, Abramowitz & Stegun 4.3.31; over 5 V.
    const why = 'exact but for the half-band filters, 1e-9 dB in their pass band';
    for (const hertz of [high - low, high + low]) {
      close(component(volts, RATE, hertz).amplitude, 2.5, { rel: 1e-6, unit: 'V', why });
    }
    // Neither of themselves: the window's own floor is -150 dB.
    for (const hertz of [low, high])
      expect(component(volts, RATE, hertz).amplitude).toBeLessThan(1e-6);
  });

  it('does not fold back a sum that is too high for the rate', () => {
    // 13 and 19.5 kHz make 6.5 and 32.5 kHz; plain products at 44.1 kHz would put 2.5 V at 11.6 kHz.
    const volts = product(sine(13_000), sine(19_500));
    const { amplitudes, resolution } = lines(volts, RATE);
    amplitudes.forEach((amplitude, i) => {
      const hertz = i * resolution;
      if (hertz > 20_000 || Math.abs(hertz - 6500) < 10 * resolution) return;
      // 90 dB under: each half-band stops 104 dB, and three of them meet.
      expect(amplitude).toBeLessThan(2.5 * 10 ** (-90 / 20));
    });
    close(component(volts, RATE, 6500).amplitude, 2.5, {
      rel: 1e-6,
      unit: 'V',
      why: 'as above',
    });
  });
});

it('multiplies steady volts of either sign, up to the rails', () => {
  // Spread evenly: fast-check's own doubles crowd about 0.
  const steady = fc.integer({ min: -1200, max: 1200 }).map((hundredths) => hundredths / 100);
  fc.assert(
    fc.property(steady, steady, (a, b) => {
      const bench = new Bench(ring, { sampleRate: RATE });
      const out = jack(bench.run(600, { a, b }), 'out')[599] as number;
      const wanted = Math.max(-12, Math.min(12, (a * b) / 5));
      close(out, wanted, {
        abs: 1e-6,
        unit: 'V',
        why: 'the slowest section forgets the step by 1e-9 in 600 samples',
      });
    }),
    runs(50),
  );
});

it('comes to rest', () => {
  const bench = new Bench(ring, { sampleRate: RATE });
  bench.run(1000, { a: sine(300), b: sine(700) });
  bench.run(4000);
  expect(jack(bench.run(1), 'out')).toEqual(Float64Array.of(0));
});
