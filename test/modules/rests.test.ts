// A module that says it rests may be passed over. Checked against itself: of two alike, one runs every
// sample and the other is passed over whenever it says so; what they give must be equal to the bit.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Definition } from '../../src/modules/definition.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { runs } from '../runs.ts';
import { Bench } from './harness.ts';

const RATE = 8000;
/** Samples in a stretch: the engine's block, made short. */
const STRETCH = 16;

const kinds = KINDS.filter(({ create }) => create !== undefined).map((definition) => ({
  definition,
  kind: definition.kind,
}));

/** Volts that stay for so many stretches: silence, gates on and off, and something in between. */
const held = fc.record({
  volts: fc.array(fc.constantFrom(0, 0, 0, 5, 5, 1, -3.7), { minLength: 16, maxLength: 16 }),
  stretches: fc.integer({ min: 1, max: 200 }),
});

/** Every choice and flag, for many choose another class; what a rhythm plays is given as edges. */
function settingsOf({ settings }: Definition): fc.Arbitrary<Record<string, unknown>> {
  return fc.record(
    Object.fromEntries(
      Object.entries(settings).flatMap(([name, spec]): [string, fc.Arbitrary<unknown>][] => {
        if (spec.type === 'choice') return [[name, fc.constantFrom(...spec.options)]];
        if (spec.type === 'flag') return [[name, fc.boolean()]];
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

describe.each(kinds)('$kind', ({ definition }) => {
  it('gives the same, passed over or not', () => {
    let mayRest = false;
    let passed = 0;
    fc.assert(
      fc.property(
        settingsOf(definition),
        fc.array(held, { minLength: 1, maxLength: 8 }),
        (settings, holds) => {
          const place = { sampleRate: RATE, edges, settings };
          const ran = new Bench(definition, place);
          const rested = new Bench(definition, place);
          const { circuit, jacks } = rested;
          mayRest ||= circuit.rests !== undefined;
          const inputs = jacks.filter(({ direction }) => direction === 'in');
          let given: Readonly<Record<string, Float64Array>> = {};
          for (const { volts, stretches } of holds) {
            const driven = Object.fromEntries(inputs.map(({ name }, i) => [name, volts[i] ?? 0]));
            for (let n = 0; n < stretches; n++) {
              const wanted = ran.run(STRETCH, driven);
              ran.circuit.settle?.();
              if (n > 0 && circuit.rests?.(STRETCH) === true) {
                passed += 1;
                circuit.skip?.(STRETCH);
                // Its wires stay as they were.
                for (const signal of Object.values(given)) signal.fill(signal.at(-1) as number);
              } else given = rested.run(STRETCH, driven);
              circuit.settle?.();
              for (const [name, signal] of Object.entries(wanted))
                if (signal.some((out, i) => out !== given[name]?.[i]))
                  expect(given[name]).toEqual(signal);
            }
          }
        },
      ),
      runs(20),
    );
    // Else nothing was tried.
    expect(passed > 0).toBe(mayRest);
  });
});
