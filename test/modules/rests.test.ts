// A module that says it rests may be skipped. Checked against itself: of two equal modules, one runs every
// sample and the other is skipped whenever it says so; their outputs must be equal to the bit.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Definition } from '../../src/modules/definition.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { outputStage } from '../circuits/output-stage.ts';
import { runs } from '../runs.ts';
import { Bench } from './harness.ts';

const RATE = 8000;
/** What never rests, since it moves by itself. */
const RESTLESS: ReadonlySet<string> = new Set(['cluster', 'noise', 'oscillator']);

const kinds = [...KINDS, outputStage]
  .filter(({ create }) => create !== undefined)
  .map((definition) => ({
    definition,
    kind: definition.kind,
  }));

/** Volts that stay for so many blocks: silence, gates on and off, and something in between. */
const held = fc.record({
  volts: fc.array(fc.constantFrom(0, 0, 0, 5, 5, 1, -3.7), { minLength: 16, maxLength: 16 }),
  blocks: fc.integer({ min: 1, max: 40 }),
});

/** Every choice and flag, for many choose another class; what a rhythm plays is given as edges. */
function settingsOf({ settings }: Definition): fc.Arbitrary<Record<string, unknown>> {
  return fc.record(
    Object.fromEntries(
      Object.entries(settings).flatMap(([name, spec]): [string, fc.Arbitrary<unknown>][] => {
        if (spec.type === 'choice') return [[name, fc.constantFrom(...spec.options)]];
        if (spec.type === 'flag') return [[name, fc.boolean()]];
        if (spec.type === 'patterns') return [[name, fc.constant([])]];
        if (spec.type === 'channels') return [[name, fc.constant([{ name: 'hit' }])]];
        return [];
      }),
    ),
  );
}

const edges = Array.from({ length: 40 }, (_, i) => ({
  sample: 37 * i * i,
  output: i % 3,
  volts: i % 2 === 0 ? 5 : 0,
}));

function areSame(one: Float64Array, other: Float64Array): boolean {
  for (let i = 0; i < one.length; i++) if (one[i] !== other[i]) return false;
  return true;
}

describe.each(kinds)('$kind', ({ definition }) => {
  it('gives the same, passed over or not', () => {
    let passed = 0;
    fc.assert(
      fc.property(
        settingsOf(definition),
        fc.array(held, { minLength: 1, maxLength: 8 }),
        (settings, holds) => {
          const place = { sampleRate: RATE, edges, settings };
          const ran = new Bench(definition, place, false);
          const rested = new Bench(definition, place);
          const inputs = ran.jacks.filter(({ direction }) => direction === 'in');
          for (const { volts, blocks } of holds) {
            const driven = Object.fromEntries(inputs.map(({ name }, i) => [name, volts[i] ?? 0]));
            for (let n = 0; n < blocks; n++) {
              const wanted = ran.next(driven);
              const given = rested.next(driven);
              if (wanted.passed) expect.fail('passed over, though it should not');
              if (given.passed) passed += 1;
              for (const [name, signal] of Object.entries(wanted.given))
                if (!areSame(signal, given.given[name] as Float64Array))
                  expect(given.given[name]).toEqual(signal);
            }
          }
        },
      ),
      runs(20),
    );
    // Otherwise nothing was tried.
    expect(passed > 0).toBe(!RESTLESS.has(definition.kind));
  });
});
