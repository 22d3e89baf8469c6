// The moments at which a sound rises through a level, whose distances are known: a period of the
// sound itself, wherever its samples fall. Waves are sums of their partials (Fourier series).

import { describe, expect, it } from 'vitest';
import '../shim.ts';
import { Crossing, NEVER } from '../../../src/circuits/dsp/crossing';
import { close } from '../../close.ts';

const LENGTH = 1000;

/** Times in samples at which it says that the sound crosses 2.5 V. */
function crossings(volts: (sample: number) => number): number[] {
  const crossing = new Crossing(2.5, 1.5);
  const times: number[] = [];
  for (let n = 0; n < LENGTH; n++) {
    const part = crossing.run(volts(n));
    if (part !== NEVER) times.push(n - 1 + part);
  }
  return times;
}

/** Samples by which the moments stray from equal distances of a period. */
function straying(times: readonly number[], period: number): number {
  const places = times.slice(2).map((time, k) => time - k * period);
  return Math.max(...places) - Math.min(...places);
}

/**
 * A pulse of 5 V up to 0.5465 of the rate, falling from 0.37 on in a straight line: what lies over half of it
 * folds, as in the samples of a band-limited oscillator.
 */
function pulse(cycles: number, width: number): (sample: number) => number {
  const partials: { readonly turns: number; readonly size: number; readonly late: number }[] = [];
  for (let k = 1; k * cycles < 0.5465; k++) {
    const gain = Math.min(1, (0.5465 - k * cycles) / (0.5465 - 0.37));
    const size = ((20 * Math.sin(Math.PI * k * width)) / (Math.PI * k)) * gain;
    partials.push({ turns: k * cycles, size, late: (k * width) / 2 });
  }
  return (sample) =>
    partials.reduce(
      (sum, { turns, size, late }) => sum + size * Math.cos(2 * Math.PI * (turns * sample - late)),
      5 * (2 * width - 1),
    );
}

describe('a crossing', () => {
  // 1e-5 of a sample: at 20 kHz of 48 kHz that is 3e-5 of a wave, and the partials there are a tenth
  // of the loudest: 110 dB under it.
  it.each([0.0071, 0.0309, 0.0653])(
    'of a sine of %d cycles a sample comes once a period',
    (cycles) => {
      const times = crossings((n) => 5 * Math.sin(2 * Math.PI * cycles * n));
      expect(times.length).toBeGreaterThan(LENGTH * cycles - 4);
      expect(straying(times, 1 / cycles)).toBeLessThan(1e-5);
    },
  );

  it.each([
    [0.0071, 0.1],
    [0.0137, 0.5],
    [0.0309, 0.5],
    [0.0309, 0.9],
    [0.0653, 0.4],
  ])(
    'of a pulse of %d cycles a sample, of which some fold, comes once a period',
    (cycles, width) => {
      const times = crossings(pulse(cycles, width));
      expect(times.length).toBeGreaterThan(LENGTH * cycles - 4);
      expect(straying(times, 1 / cycles)).toBeLessThan(1e-5);
    },
  );

  it('strays a hundred times as far on the samples themselves: it is a test that can fail', () => {
    const cycles = 0.0309;
    const volts = pulse(cycles, 0.5);
    const times: number[] = [];
    for (let n = 1; n < LENGTH; n++) {
      const [before, now] = [volts(n - 1), volts(n)];
      if (before < 2.5 && now >= 2.5) times.push(n - 1 + (2.5 - before) / (now - before));
    }
    expect(straying(times, 1 / cycles)).toBeGreaterThan(1e-3);
  });

  it('is none where the sound is high from the start, or does not fall under the lower level', () => {
    expect(crossings(() => 5)).toEqual([]);
    expect(crossings((n) => (n < 100 ? 5 : 3 + 1.2 * Math.sin(n / 50)))).toEqual([]);
  });

  it('of a ramp comes as late as documented: three samples', () => {
    const [time] = crossings((n) => 0.01 * n - 1);
    close((time as number) - 350, 3, {
      abs: 0.2,
      unit: 'samples',
      why: '"some" three samples: to a fifth of one',
    });
  });
});
