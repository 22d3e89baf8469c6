// What is left once the ringing is taken out: against a ringing that is known in closed form. Partials that
// die away obey a recurrence (each sample is a sum of those before it), so that nothing but the stroke can be left.

import { describe, expect, it } from 'vitest';
import { withoutRinging } from '../../../../src/measure/hits/flams/inverse-filter.ts';
import { noise } from '../../synthesis.ts';

const RATE = 48_000;
const STRUCK = 1000;
const PARTIALS = [
  [210, 0.2],
  [345, 0.12],
  [1180, 0.05],
  [2730, 0.04],
] as const;

function ringing(struck: readonly number[]): Float64Array {
  return new Float64Array(8000).map((_, n) =>
    struck.reduce((sum, from) => {
      if (n < from) return sum;
      const t = (n - from) / RATE;
      const partial = ([hz, tau]: readonly [number, number]) =>
        Math.exp(-t / tau) * Math.cos(2 * Math.PI * hz * t);
      return sum + PARTIALS.reduce((all, one) => all + 0.2 * partial(one), 0);
    }, 0),
  );
}

const level = (samples: Float64Array) =>
  10 * Math.log10(samples.reduce((sum, x) => sum + x * x, 0) / samples.length + 1e-30);

describe('a ringing taken out', () => {
  it.each([0, 3])('leaves the stroke alone, and of each of two its own (%i ms later)', (later) => {
    const second = STRUCK + later * 48;
    const samples = ringing(later === 0 ? [STRUCK] : [STRUCK, second]);
    // As much noise as a converter of 16 bits makes.
    const floor = noise(samples.length, 1.5e-5, 'floor');
    const heard = samples.map((x, n) => x + (floor[n] as number));
    const left = withoutRinging(heard, { from: 3400, to: 6000 }, { from: 0, to: 3000 });
    // The samples after which a filter of 24 weights predicts from ringing alone.
    const after = left.subarray(second + 24, 3000);
    expect(level(heard.subarray(second + 24, 3000)) - level(after)).toBeGreaterThan(40);
    for (const at of new Set([STRUCK, second]))
      expect(level(left.subarray(at, at + 4)) - level(after)).toBeGreaterThan(40);
  });

  it('makes noise of any colour as loud at all frequencies', () => {
    // Noise through one pole: its neighbours correlate by 0.95, those of what is left do not.
    const white = noise(20_000, 0.1, 'white');
    let last = 0;
    const red = white.map((x) => {
      last = 0.95 * last + x;
      return last;
    });
    const left = withoutRinging(red, { from: 0, to: 20_000 }, { from: 100, to: 20_000 });
    const correlation = (x: Float64Array) =>
      x.subarray(1).reduce((sum, one, n) => sum + one * (x[n] as number), 0) /
      x.reduce((sum, one) => sum + one * one, 0);
    expect(correlation(red)).toBeGreaterThan(0.9);
    // Three standard deviations of the correlation of 20 000 samples of white noise, 1 over its root.
    expect(Math.abs(correlation(left))).toBeLessThan(3 / Math.sqrt(20_000));
  });

  it('of silence leaves silence, and of a sound whose end is silent the sound', () => {
    const silent = new Float64Array(6000);
    const stretch = [
      { from: 3000, to: 6000 },
      { from: 0, to: 3000 },
    ] as const;
    expect(withoutRinging(silent, ...stretch)).toEqual(new Float64Array(3000));
    const click = silent.map((_, n) => (n === 500 ? 0.5 : 0));
    expect(withoutRinging(click, ...stretch)).toEqual(click.subarray(0, 3000));
  });
});
