// Filters of third octaves two at a time, to the last bit against the same equations one by one. That they are third
// octaves is tested where the distance is.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { BandBank } from '../../../src/measure/likeness/band-bank.ts';
import { bandCoefficients } from '../../../src/measure/likeness/band-filters.ts';

const BANDS = Array.from({ length: 26 }, (_, k) => k - 13);

/** The equations of `bandCoefficients`, sample by sample. */
function plain(x: number, rate: number, sound: Float64Array, [frames, step]: [number, number]) {
  const [g = 0, a11 = 0, a12 = 0, a21 = 0, a22 = 0, a31 = 0, a32 = 0] = bandCoefficients(x, rate);
  const [xs, us, vs, ys]: [number[], number[], number[], number[]] = [[], [], [], []];
  const at = (list: readonly number[], n: number): number => list[n] ?? 0;
  return Float64Array.from({ length: frames }, (_, k) => {
    const [from, to] = [Math.round(k * step), Math.round((k + 1) * step)];
    let sum = 0;
    for (let n = from; n < to; n++) {
      xs[n] = g * (sound[n] ?? 0);
      us[n] = at(xs, n) - at(xs, n - 2) - a11 * at(us, n - 1) - a12 * at(us, n - 2);
      vs[n] = at(us, n) - at(us, n - 2) - a21 * at(vs, n - 1) - a22 * at(vs, n - 2);
      ys[n] = at(vs, n) - at(vs, n - 2) - a31 * at(ys, n - 1) - a32 * at(ys, n - 2);
      sum += at(ys, n) ** 2;
    }
    return sum / (to - from);
  });
}

describe('a bank of bands', () => {
  it('lets through what each filter by itself does, whatever it was used for before', () => {
    fc.assert(
      fc.property(
        // Odd numbers of bands too, frames longer than what is handed over at once, and a sound that ends before them.
        fc.uniqueArray(fc.constantFrom(...BANDS), { minLength: 1, maxLength: 5 }),
        fc.float64Array({ minLength: 1, maxLength: 400, noNaN: true, min: -1, max: 1 }),
        fc.constantFrom(44.1, 480, 4410.5),
        (bands, sound, step) => {
          const size: [number, number] = [3, step];
          const found = new BandBank(bands, 44_100).powers(sound, ...size);
          expect(found).toEqual(bands.map((x) => plain(x, 44_100, sound, size)));
        },
      ),
    );
  });

  it('falls silent after a click, and does not slow down', () => {
    const click = Float64Array.of(1);
    // 100 s: the narrowest band is under the least number that the processor counts quickly after some 20 s.
    const [low] = new BandBank([-13], 5000).powers(click, 10_000, 50);
    expect(low?.[0]).toBeGreaterThan(0);
    expect(low?.at(-1)).toBe(0);
  });

  it('has room for all third octaves of the distance', () => {
    const found = new BandBank(BANDS, 48_000).powers(Float64Array.of(1), 1, 480);
    expect(found.map((row) => (row[0] as number) > 0)).toEqual(BANDS.map(() => true));
  });
});
