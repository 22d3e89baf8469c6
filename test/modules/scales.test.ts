// Inputs that a kind says its outputs are in proportion to, against that word's meaning: so many times the volts make so
// many times the sound.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { KINDS } from '../../src/modules/kinds.ts';
import { runs } from '../runs.ts';
import { Bench } from './harness.ts';

const SAMPLES = 2000;
const scaled = KINDS.flatMap((kind) => (kind.scales ?? []).map((input) => ({ kind, input })));

it('has kinds to try', () => {
  expect(scaled.map(({ kind }) => kind.kind)).toContain('filter');
});

describe('what comes in by an input that scales', () => {
  it.each(scaled)('comes out of $kind.kind in proportion to $input', ({ kind, input }) => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -1000, max: 1000 }), { minLength: 8, maxLength: 40 }),
        fc.constantFrom(0.05, 0.5, 2, 4),
        (steps, gain) => {
          // Steps of up to 0.1 V, held for fifty samples each: far from the rails at any gain.
          const played = (by: number) =>
            new Bench(kind, { sounds: [input] }).run(SAMPLES, {
              [input]: (n) => (by * (steps[Math.floor(n / 50) % steps.length] as number)) / 10_000,
            });
          const [none, once, more] = [played(0), played(1), played(gain)];
          for (const [name, all] of Object.entries(more)) {
            const [idle, one] = [none[name] as Float64Array, once[name] as Float64Array];
            let loudest = 0;
            let off = 0;
            all.forEach((volts, n) => {
              const rest = idle[n] as number;
              const wanted = rest + gain * ((one[n] as number) - rest);
              loudest = Math.max(loudest, Math.abs(wanted));
              off = Math.max(off, Math.abs(volts - wanted));
            });
            // Doubles have 2^-52; some thousand steps of a filter that rings for long add up to far less than this.
            expect(off).toBeLessThanOrEqual(1e-9 * Math.max(1, loudest));
          }
        },
      ),
      runs(10),
    );
  });
});
