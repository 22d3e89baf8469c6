// Bad input, for every kind: every setting at both ends of its range, squares and noise of 12 V into
// every input at once. Whatever a module then does, its outputs stay finite and within the rails.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Definition, Jack, SettingSpec } from '../../src/modules/definition.ts';
import { RAIL_VOLTS } from '../../src/modules/facts.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { runs } from '../runs.ts';
import { Bench } from './harness.ts';

/** Samples: long enough for the slowest square below to turn round a few times. */
const LENGTH = 4000;

/** Values at the ends of what a setting allows. */
function ends(spec: SettingSpec): readonly unknown[] {
  switch (spec.type) {
    case 'choice':
      return spec.options;
    case 'flag':
      return [true, false];
    case 'row':
      return [
        Array.from({ length: spec.shortest }, () => spec.min),
        Array.from({ length: spec.longest }, () => spec.max),
      ];
    case 'rows':
      return [
        [],
        Array.from({ length: spec.most }, (_, k) => ({
          name: `row-${k}`,
          values: Array.from({ length: spec.row.longest }, () => spec.row.max),
        })),
      ];
    case 'recording':
    case 'span':
    case 'rate':
      return [spec.fallback];
    case 'channels':
      return [[{ name: 'hit' }]];
    case 'patterns':
    case 'song':
    case 'notes':
      return [[]];
    default:
      return [spec.min, spec.max];
  }
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

/** The inputs that a module has with these settings. */
function inputsOf(definition: Definition, values: Record<string, unknown>): readonly Jack[] {
  const fallbacks = Object.entries(definition.settings).map(([name, spec]) => [
    name,
    'fallback' in spec ? spec.fallback : ends(spec)[0],
  ]);
  return definition
    .jacks({ ...Object.fromEntries(fallbacks), ...values })
    .filter(({ direction }) => direction === 'in');
}

/** Whether it stays within some volts; a sample that is no number does not. */
function isWithin(signal: Float64Array, low: number, high: number): boolean {
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let n = 0; n < signal.length; n++) {
    const out = signal[n] as number;
    if (Number.isNaN(out)) return false;
    if (out < least) least = out;
    if (out > most) most = out;
  }
  return least >= low - ROUNDING && most <= high + ROUNDING;
}

/** V; what sums of doubles under 12 V may be off by, with room. */
const ROUNDING = 1e-9;

const running = KINDS.filter(({ create }) => create !== undefined);

describe.each(running.map((definition) => ({ kind: definition.kind, definition })))(
  '$kind',
  ({ definition }) => {
    const specs = Object.entries(definition.settings);
    const settings = fc.record(
      Object.fromEntries(specs.map(([name, spec]) => [name, fc.constantFrom(...ends(spec))])),
    );

    it.each([44_100, 192_000])(
      'stays within what its jacks state, and the rails, at %d Hz',
      (sampleRate) => {
        fc.assert(
          fc.property(
            settings,
            fc.array(volts, { minLength: 16, maxLength: 16 }),
            (values, drive) => {
              const bench = new Bench(definition, { sampleRate, settings: values });
              const inputs = inputsOf(definition, values);
              const driven = Object.fromEntries(inputs.map(({ name }, i) => [name, drive[i] ?? 0]));
              const beyond = Object.entries(bench.run(LENGTH, driven)).filter(([name, signal]) => {
                const jack = bench.jacks.find((one) => one.name === name);
                if (jack?.direction !== 'out') throw new Error(`${name} is no output`);
                // A switch is open or closed: 0 or 1.
                if (jack.facts.type === 'switch') return !isWithin(signal, 0, 1);
                const { low, high, most } = jack.facts;
                if (!(Math.max(most ?? 0, high, -low) <= RAIL_VOLTS)) return true;
                return most === undefined
                  ? !isWithin(signal, low, high)
                  : !isWithin(signal, -most, most);
              });
              expect(beyond.map(([name]) => name)).toEqual([]);
            },
          ),
          runs(25),
        );
      },
    );
  },
);
