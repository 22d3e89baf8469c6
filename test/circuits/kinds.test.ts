// Properties of every circuit, whatever its settings, cables and volts. Each is compared with itself,
// to the bit; its output is compared with closed forms in test/modules and, where two samples are
// worked out at a time, with slow code in test/circuits/twins.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { KINDS } from '../../src/modules/kinds.ts';
import { differAt } from '../differ.ts';
import { runs } from '../runs.ts';
import { Bench, BLOCK, type Signals, Wasm } from './bench.ts';
import { cases } from './cases.ts';
import { outputStage } from './output-stage.ts';
import { Plain } from './plain.ts';

// The stage behind an output is no kind, and runs beside theirs.
const kinds = [...KINDS, outputStage]
  .filter(({ create }) => create !== undefined)
  .map((definition) => ({
    definition,
    kind: definition.kind,
  }));

function same(given: Signals, wanted: Signals): void {
  for (const [name, signal] of Object.entries(wanted))
    if (differAt(signal, given[name] ?? []) !== -1)
      expect({ [name]: given[name] }).toEqual({ [name]: signal });
}

/** On wires 0 V is 0 V, whichever sign it has: what stands still there may change from 0 to -0. */
function unsigned(signals: Signals): Signals {
  return Object.fromEntries(
    Object.entries(signals).map(([name, signal]) => [name, signal.map((volts) => volts + 0)]),
  );
}

/** Where a block is split: once, a few times, or at every sample, as in a feedback cycle. */
const splits = fc.oneof(
  fc
    .uniqueArray(fc.integer({ min: 1, max: BLOCK - 1 }), { minLength: 1, maxLength: 5 })
    .map((list) => list.sort((a, b) => a - b)),
  fc.constant(Array.from({ length: BLOCK - 1 }, (_, i) => i + 1)),
);

/** Blocks at 0 V before anything moves: what is passed over there must have counted them. */
const quiet = fc.constantFrom(0, 0, 1, 3);

function delayed(signals: Signals, blocks: number): Signals {
  return Object.fromEntries(
    Object.entries(signals).map(([name, signal]) => {
      const later = new Float64Array(blocks * BLOCK + signal.length);
      later.set(signal, blocks * BLOCK);
      return [name, later];
    }),
  );
}

describe.each(kinds)('$kind', ({ definition }) => {
  it('gives the same however a block is split', () => {
    fc.assert(
      fc.property(cases(definition), splits, ({ place, blocks, signals }, where) => {
        const whole = new Bench(new Wasm(false), definition, place).run(blocks, signals);
        const split = new Bench(new Wasm(false), definition, place).run(blocks, signals, where);
        same(split, whole);
      }),
      runs(100),
    );
  });

  it('gives the same where it is passed over, whichever of its inputs move', () => {
    fc.assert(
      fc.property(cases(definition, 30), quiet, ({ place, blocks, signals }, before) => {
        const all = blocks + before;
        const given = delayed(signals, before);
        const ran = new Bench(new Wasm(false), definition, place).run(all, given);
        const passed = new Bench(new Wasm(true), definition, place).run(all, given);
        same(unsigned(passed), unsigned(ran));
      }),
      runs(60),
    );
  });

  it('gives the same as JavaScript', () => {
    fc.assert(
      fc.property(cases(definition, 3), ({ place, blocks, signals }) => {
        const compiled = new Bench(new Wasm(false), definition, place).run(blocks, signals);
        const plain = new Bench(new Plain(), definition, place).run(blocks, signals);
        same(plain, compiled);
      }),
      runs(20),
    );
  });

  it('comes to an end on volts that are no number, or endless', () => {
    // What the engine says of such volts is not tested here; a circuit must only come to an end.
    const values = Object.fromEntries(
      Object.entries(definition.settings).flatMap(([name, spec]): [string, unknown][] =>
        'fallback' in spec
          ? [[name, spec.fallback]]
          : [[name, spec.type === 'channels' ? [{ name: 'hit' }] : []]],
      ),
    );
    const patched = definition.jacks(values).map(({ name }) => name);
    const bench = new Bench(new Wasm(), definition, { sampleRate: 48_000, values, patched });
    const inputs = definition.jacks(values).filter(({ direction }) => direction === 'in');
    for (const volts of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      const signal = new Float64Array(2 * BLOCK).fill(volts);
      const given = bench.run(2, Object.fromEntries(inputs.map(({ name }) => [name, signal])));
      for (const out of Object.values(given)) expect(out).toHaveLength(2 * BLOCK);
    }
  });
});

describe.each(kinds.filter(({ definition }) => definition.isInstant === true))(
  '$kind remembers nothing, and so',
  ({ definition }) => {
    // A kind that says it remembers nothing may be started in the middle of a song.
    it('gives the same from any block on', () => {
      fc.assert(
        fc.property(cases(definition), fc.nat(), ({ place, blocks, signals }, seed) => {
          const first = seed % blocks;
          const from = (all: Signals): Signals =>
            Object.fromEntries(
              Object.entries(all).map(([name, signal]) => [name, signal.slice(first * BLOCK)]),
            );
          const whole = new Bench(new Wasm(true), definition, place).run(blocks, signals);
          const rest = new Bench(new Wasm(true), definition, place).run(
            blocks - first,
            from(signals),
          );
          same(unsigned(rest), unsigned(from(whole)));
        }),
        runs(60),
      );
    });
  },
);
