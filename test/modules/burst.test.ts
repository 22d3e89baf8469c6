// Times by the geometric series of the gaps, worked out here with Math.pow.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { burst, burstGaps } from '../../src/modules/burst.ts';
import { close } from '../close.ts';
import { runs } from '../runs.ts';
import { gate, play, pulses, starts } from './gates.ts';
import { solo } from './solo.ts';

function of(settings: object, triggers: readonly number[], length: number, rate = 48_000) {
  const trigger = gate(triggers, 20);
  const circuit = solo(burst, { settings: { ...settings }, sampleRate: rate });
  return play(circuit, ['out'], length, (n) => [trigger(n)]).out;
}

describe('burst', () => {
  it('gives its pulses at its spacing, the first with the trigger', () => {
    const settings = { count: 3, spacing: 0.01, spread: 0, length: 0.002 };
    expect(pulses(of(settings, [100], 5000))).toEqual([
      { start: 100, length: 96 },
      { start: 580, length: 96 },
      { start: 1060, length: 96 },
    ]);
  });

  it('spreads: each gap longer than the one before by the spread', () => {
    expect(burstGaps(4, 0.01, 0.5)).toEqual([0.01, 0.015, 0.0225, 0.03375]);
    // Shrinking gaps stop at 1 ms.
    expect(burstGaps(5, 0.004, -0.5)).toEqual([0.004, 0.002, 0.001, 0.001, 0.001]);
  });

  it('gives the exact count, each pulse within half a sample of its time', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 16 }),
        fc.double({ min: 0.001, max: 0.02, noNaN: true }),
        fc.double({ min: -0.5, max: 0.2, noNaN: true }),
        fc.double({ min: 0.0001, max: 2, noNaN: true }),
        fc.constantFrom(8000, 44_100, 48_000),
        (count, spacing, spread, length, rate) => {
          const found = starts(of({ count, spacing, spread, length }, [5], 2 * rate, rate));
          expect(found).toHaveLength(count);
          let time = 0;
          for (let k = 0; k < count; k++) {
            close((found[k] as number) - 5, time * rate, {
              abs: 0.5 + 1e-6,
              unit: 'samples',
              why: 'half a sample of rounding, and a little for the sums of gaps',
            });
            time += Math.max(0.001, spacing * (1 + spread) ** k);
          }
        },
      ),
      runs(30),
    );
  });

  it('starts afresh with a trigger that comes meanwhile', () => {
    const settings = { count: 4, spacing: 0.01, spread: 0, length: 0.001 };
    expect(starts(of(settings, [0, 700], 4000))).toEqual([0, 480, 700, 1180, 1660, 2140]);
  });

  it('cuts pulses to half a gap, so that none runs into the next', () => {
    const settings = { count: 2, spacing: 0.01, spread: 0, length: 1 };
    expect(pulses(of(settings, [0], 4000))).toEqual([
      { start: 0, length: 240 },
      { start: 480, length: 240 },
    ]);
  });

  it('gives its level', () => {
    expect(Math.max(...of({ level: 7 }, [0], 10))).toBe(7);
  });
});
