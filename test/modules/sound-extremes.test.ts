// Bad input for what makes or bends sound: every setting at both ends of its range, squares and noise
// of 12 V into every input at once. What comes out is finite and within the supply rails.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cluster } from '../../src/modules/cluster.ts';
import type { SettingSpec } from '../../src/modules/definition.ts';
import { RAIL_VOLTS } from '../../src/modules/facts.ts';
import { fixedBank } from '../../src/modules/fixed-bank.ts';
import { ladder } from '../../src/modules/ladder.ts';
import { panner } from '../../src/modules/panner.ts';
import { resonator } from '../../src/modules/resonator.ts';
import { ring } from '../../src/modules/ring.ts';
import { shaper } from '../../src/modules/shaper.ts';
import { Bench } from './harness.ts';

const KINDS = [ladder, resonator, cluster, ring, shaper, fixedBank, panner];
/** Samples: long enough for the slowest square below to turn round a few times. */
const LENGTH = 4000;

function ends(spec: SettingSpec): readonly unknown[] {
  if (spec.type === 'choice') return spec.options;
  if ('min' in spec && 'max' in spec) return [spec.min, spec.max];
  throw new Error(`no ends of ${spec.type}`);
}

/** Squares from half the rate down, and white noise, all of 12 V. */
const volts = fc.oneof(
  fc
    .integer({ min: 1, max: 1000 })
    .map((half) => (n: number) => (Math.floor(n / half) % 2 === 0 ? RAIL_VOLTS : -RAIL_VOLTS)),
  fc.integer({ min: 1, max: 2 ** 31 - 2 }).map((seed) => {
    // Park & Miller's generator, Comm. ACM 31 (1988) 1192 (from memory).
    let state = seed;
    return () => {
      state = (state * 16_807) % 2_147_483_647;
      return RAIL_VOLTS * (2 * (state / 2_147_483_647) - 1);
    };
  }),
);

describe.each(KINDS.map((definition) => ({ kind: definition.kind, definition })))(
  '$kind',
  ({ definition }) => {
    const specs = Object.entries(definition.settings);
    const settings = fc.record(
      Object.fromEntries(specs.map(([name, spec]) => [name, fc.constantFrom(...ends(spec))])),
    );

    it.each([44_100, 192_000])('stays within the rails at %d Hz', (sampleRate) => {
      const inputs = definition.jacks({}).filter(({ direction }) => direction === 'in');
      const sources = fc.tuple(...inputs.map(() => volts));
      fc.assert(
        fc.property(settings, sources, (values, drive) => {
          const bench = new Bench(definition, { sampleRate, settings: values });
          const driven = Object.fromEntries(inputs.map(({ name }, i) => [name, drive[i] ?? 0]));
          const outputs = bench.run(LENGTH, driven);
          for (const signal of Object.values(outputs)) {
            // Written so that NaN fails too.
            expect(signal.every((out) => Math.abs(out) <= RAIL_VOLTS)).toBe(true);
          }
        }),
        { numRuns: 40 },
      );
    });
  },
);
