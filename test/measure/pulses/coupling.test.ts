// Whether an interface passes direct current, over recordings drawn evenly: no level is given for what passed
// a capacitor, however short or noisy it is; for what did not, a level is given if it has two seconds.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pulseMeasures } from '../../../src/measure/pulses/pulses.ts';
import { between } from '../../circuits/cases.ts';
import { runs } from '../../runs.ts';
import { clockOf, gaussian, samplesOf, sourceOf } from './synthetic.ts';

/** Evenly by ratios. */
const ratio = (from: number, to: number) => between(0, 1).map((part) => from * (to / from) ** part);

const drawn = fc.record({
  width: ratio(0.001, 0.1),
  share: between(0.05, 0.75),
  seconds: ratio(0.1, 8),
  low: fc.oneof(fc.constantFrom(0, -4), between(-1, 0.5)),
  swing: between(2, 9),
  noiseDb: between(-70, -46),
  sampleRate: fc.constantFrom<number>(44_100, 48_000, 96_000),
  seed: fc.integer({ min: 1, max: 1e6 }),
  isLate: fc.boolean(),
});

type Some = typeof drawn extends fc.Arbitrary<infer T> ? T : never;

function measured(some: Some, corner: number) {
  const { width, share, seconds, low, swing, noiseDb, isLate, ...rest } = some;
  const period = width / share;
  const count = Math.floor((seconds - 0.06 - width) / period);
  if (count < 2) return undefined;
  const noise = swing * 10 ** (noiseDb / 20);
  const high = low + swing;
  const made = clockOf({ ...rest, corner, width, period, count, low, high, noise, bits: 16 });
  const whole = samplesOf(made);
  // From the middle on, too, where it has settled.
  const samples = isLate ? whole.slice(whole.length >> 1) : whole;
  const found = pulseMeasures(sourceOf(samples, rest.sampleRate));
  return typeof found === 'string' ? undefined : found;
}

describe('an interface', () => {
  it('is taken to pass direct current by no recording that went through a capacitor', () => {
    fc.assert(
      fc.property(drawn, ratio(0.15, 20), (some, corner) => {
        const found = measured(some, corner);
        if (found !== undefined)
          expect(found.levels, JSON.stringify(found.coupling)).toBeUndefined();
      }),
      runs(20, 400),
    );
  });

  it.each([
    // Lows too short to look at; a mean that is half of the way to 0 V.
    { width: 0.001_69, share: 0.735, seconds: 0.92, corner: 0.18, low: 0.21, isLate: true },
    { width: 0.0015, share: 0.15, seconds: 0.8, corner: 0.4, low: -0.5, isLate: false },
    { width: 0.0022, share: 0.4, seconds: 0.1, corner: 0.3, low: 0, isLate: false },
  ])('is not known from a recording so short: %o', ({ corner, ...some }) => {
    const rest = { swing: 5, noiseDb: -55, sampleRate: 48_000, seed: 1 };
    expect(measured({ ...rest, ...some }, corner)).toMatchObject({
      levels: undefined,
      coupling: expect.stringMatching(/unknown|capacitor/),
    });
  });

  it('is known where there are two seconds of it, and pulses of a tenth of their period', () => {
    fc.assert(
      fc.property(drawn, (some) => {
        const usual = { width: Math.max(0.002, some.width / 2), share: Math.max(0.1, some.share) };
        const found = measured({ ...some, ...usual, seconds: 4 + some.seconds / 4, low: 0 }, 0);
        if (found !== undefined) expect(found.coupling).toBe('direct');
      }),
      runs(6, 200),
    );
  });
});

describe('a wave', () => {
  const waves: { readonly [name: string]: (turn: number) => number } = {
    sine: (turn) => Math.sin(2 * Math.PI * turn),
    triangle: (turn) => 4 * Math.abs(turn - Math.floor(turn + 0.5)) - 1,
    saw: (turn) => 2 * (turn - Math.floor(turn)) - 1,
    chord: (turn) =>
      [1, 1.25, 1.5].reduce((sum, times) => sum + Math.sin(2 * Math.PI * times * turn) / 3, 0),
  };
  const random = gaussian(3);

  it.each(Object.keys(waves))('is no clock, at whatever rate its samples fall: %s', (name) => {
    const of = waves[name] as (turn: number) => number;
    for (const [hz, sampleRate] of [
      [2, 44_100],
      [441, 44_100],
      [1000, 48_000],
      [3000, 96_000],
      [8000, 96_000],
    ] as const)
      for (const noise of [0, 0.002]) {
        const samples = new Float64Array(sampleRate / 2).map(
          (_, n) => 0.5 * of((n * hz) / sampleRate) + noise * random(),
        );
        const found = pulseMeasures(sourceOf(samples, sampleRate));
        expect(typeof found, `${hz} Hz at ${sampleRate}`).toBe('string');
      }
  });

  it('that is a rectangle is one', () => {
    const samples = new Float64Array(24_000).map((_, n) => (n % 48 < 14 ? 0.5 : 0));
    expect(pulseMeasures(sourceOf(samples, 48_000))).toMatchObject({ coupling: 'direct' });
  });
});
