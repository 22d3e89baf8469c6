/**
 * Random scores against `slow.ts`, an independent recomputation in fractions of whole numbers, and
 * properties of any score.
 */

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Feel, Line, Pattern, Step } from '../../src/modules/score.ts';
import { edges } from '../../src/timing/edges.ts';
import type { TimedEdge } from '../../src/timing/pulses.ts';
import type { RhythmSettings } from '../../src/timing/rhythm.ts';
import { runs } from '../runs.ts';
import { allEdges, allStrokes } from './build.ts';
import { slowEdges } from './slow.ts';

const RUNS = 40;

const decimalBetween = (low: number, high: number, digits: number) => {
  const scale = Number(`1e${digits}`);
  return fc
    .integer({ min: Math.ceil(low * scale), max: Math.floor(high * scale) })
    .map((n) => Number(`${n}e-${digits}`));
};
const tempo = decimalBetween(20, 999, 2);
const swing = decimalBetween(0.5, 0.75, 4);
const chance = decimalBetween(0, 1, 2);
const flam = decimalBetween(0.001, 0.1, 4);
const clock = fc.record({
  count: fc.integer({ min: 1, max: 96 }),
  per: fc.constantFrom('quarter', 'step'),
});
const gate = fc.oneof(
  fc.record({ unit: fc.constant('seconds' as const), value: decimalBetween(0.00001, 0.3, 5) }),
  fc.record({ unit: fc.constant('steps' as const), value: decimalBetween(0.01, 2, 2) }),
);
const some = <T>(of: fc.Arbitrary<T>) => fc.option(of, { nil: undefined, freq: 3 });

/** Leaves out the keys that came out undefined, as a settings reader does. */
function clean<T extends object>(record: fc.Arbitrary<object>): fc.Arbitrary<T> {
  return record.map(
    (made) =>
      Object.fromEntries(Object.entries(made).filter(([, value]) => value !== undefined)) as T,
  );
}

const feel = {
  tempo: some(tempo),
  swing: some(swing),
  chance: some(chance),
  flam: some(flam),
  clock: some(clock),
} satisfies Record<keyof Feel, unknown>;
const step = clean<Step>(
  fc.record({
    strokes: fc.oneof(fc.constantFrom(0, 1), fc.integer({ min: 0, max: 8 })),
    accent: fc.boolean(),
    flam: fc.oneof(fc.constant(false), fc.boolean()),
    maybe: fc.boolean(),
    chance: some(chance),
    flamSpacing: some(flam),
    gate: some(gate),
  }),
);
const line = (channel: number) =>
  clean<Line>(
    fc.record({
      channel: fc.constant(channel),
      steps: fc.array(step, { minLength: 1, maxLength: 9 }),
      gate: some(gate),
      swing: some(swing),
    }),
  );
const anyPattern = clean<Pattern>(
  fc.record({
    name: fc.constant('any'),
    stepsPerQuarter: fc.constantFrom(1, 2, 3, 4, 5, 6, 24, 64, 96),
    length: fc.oneof(fc.integer({ min: 1, max: 12 }), fc.integer({ min: 30, max: 70 })),
    lines: fc.tuple(line(0), line(1), line(2)).chain((lines) => fc.subarray(lines)),
    ...feel,
  }),
);
const anySettings: fc.Arbitrary<RhythmSettings> = fc.record({
  channels: fc.constant([{ name: 'hat' }, { name: 'drum' }, { name: 'bell' }]),
  patterns: fc.array(anyPattern, { minLength: 2, maxLength: 2 }),
  song: fc.array(
    clean<RhythmSettings['song'][number]>(
      fc.record({
        pattern: fc.constantFrom(0, 1),
        repeats: fc.integer({ min: 1, max: 3 }),
        ...feel,
      }),
    ),
    { minLength: 1, maxLength: 4 },
  ),
  tempo,
  swing,
  chance,
  flam,
  clock: clock as fc.Arbitrary<RhythmSettings['clock']>,
  follows: fc.constant({ count: 4, per: 'quarter' } as const),
  gate,
  level: fc.constant(6),
  'accent-level': fc.constantFrom(4, 0),
  'ghost-level': fc.constantFrom(-4, 0, 1),
  'grace-level': fc.constantFrom(0, -3, 2),
  'beats-per-bar': fc.integer({ min: 1, max: 16 }),
  'count-in': fc.constantFrom(0, 0, 1, 2),
});
const sampleRate = fc.constantFrom(8000, 44_100, 48_000, 96_000, 192_000);
const until = decimalBetween(0.001, 2, 3);

describe('edges', () => {
  it('are those of the slow recomputation, to the sample', () => {
    fc.assert(
      fc.property(anySettings, sampleRate, until, (settings, rate, end) => {
        const options = { sampleRate: rate, seed: 'any', module: 'drums', until: end };
        const found = allEdges(settings, options).map((e) => [e.sample, e.output, e.volts]);
        expect(found).toEqual(slowEdges(settings, options));
      }),
      runs(RUNS),
    );
  });

  it('are finite, in order, and go up and down by turns at each output', () => {
    fc.assert(
      fc.property(anySettings, sampleRate, until, (settings, rate, end) => {
        const volts = new Float64Array(2 * settings.channels.length + 3);
        let last = { sample: -1, output: 0 };
        const wrong = allEdges(settings, { sampleRate: rate, until: end }).filter((edge) => {
          const { sample, output, time, bar, step } = edge;
          const inOrder = sample > last.sample || (sample === last.sample && output > last.output);
          const finite = Number.isSafeInteger(sample) && Number.isFinite(time);
          const isAccent =
            output >= settings.channels.length && output < 2 * settings.channels.length;
          const turned = isAccent
            ? edge.volts !== volts[output]
            : edge.volts > 0 === (volts[output] === 0);
          volts[output] = edge.volts;
          last = edge;
          const counted = bar >= 1 - settings['count-in'] && step >= 1;
          return !(inOrder && finite && turned && counted);
        });
        expect(wrong).toEqual([]);
        // Only the held accents may still be up when all is over.
        const accents = settings.channels.length;
        expect(
          [...volts.slice(0, accents), ...volts.slice(2 * accents)].every((v) => v === 0),
        ).toBe(true);
      }),
      runs(RUNS),
    );
  });

  it('are moved by the sample rate no further than to the nearest sample', () => {
    fc.assert(
      fc.property(anySettings, until, (settings, end) => {
        const [low, high] = [44_100, 192_000].map((rate) => {
          const strokes = allStrokes(settings, { sampleRate: rate, until: end });
          // Half a sample, and the rounding of a double of some seconds.
          const off = strokes.filter((s) => !(Math.abs(s.time * rate - s.sample) < 0.5 + 1e-6));
          expect(off).toEqual([]);
          return strokes.map(({ time }) => time).sort((a, b) => a - b);
        }) as [number[], number[]];
        expect(low.length).toBe(high.length);
        // A double of under 4 s is right to 4e-16 s a rounding, of which there are a few.
        expect(low.filter((time, i) => Math.abs(time - (high[i] as number)) > 1e-14)).toEqual([]);
      }),
      runs(RUNS),
    );
  });

  it('are the same again with the same seed, and other channels do not change a channel', () => {
    fc.assert(
      fc.property(anySettings, fc.string(), until, (settings, seed, end) => {
        const all = allEdges(settings, { seed, until: end });
        expect(allEdges(settings, { seed, until: end })).toEqual(all);
        const alone: RhythmSettings = {
          ...settings,
          channels: settings.channels.slice(0, 1),
          patterns: settings.patterns.map((one) => ({
            ...one,
            lines: one.lines.filter(({ channel }) => channel === 0),
          })),
        };
        const count = settings.channels.length;
        const ofFirst = all
          .filter(({ output }) => output === 0 || output === count)
          .map((edge) => ({ ...edge, output: edge.output === 0 ? 0 : 1 }));
        const found = allEdges(alone, { seed, until: end }).filter(({ output }) => output < 2);
        expect(found).toEqual(ofFirst);
      }),
      runs(RUNS),
    );
  });

  it('of outputs that are heard are the same when nobody listens to the others', () => {
    fc.assert(
      fc.property(anySettings, until, fc.infiniteStream(fc.boolean()), (settings, end, choice) => {
        const count = settings.channels.length;
        const isChosen = [...choice.take(2 * count + 3)];
        const isHeard = (output: number) => isChosen[output] as boolean;
        const heard = allEdges(settings, { until: end, isHeard });
        const those = allEdges(settings, { until: end }).filter(({ output }) => isHeard(output));
        expect(heard.filter(({ output }) => isHeard(output))).toEqual(those);
        // What nobody hears is not worked out at all.
        const silent = [...Array(count).keys()].filter((k) => !isHeard(k) && !isHeard(count + k));
        const unheard = new Set(silent.flatMap((k) => [k, count + k]));
        if (!isHeard(2 * count)) unheard.add(2 * count);
        expect(heard.filter(({ output }) => unheard.has(output))).toEqual([]);
      }),
      runs(RUNS),
    );
  });

  it('without an end are those with an end, and more', () => {
    fc.assert(
      fc.property(anySettings, until, (settings, end) => {
        const options = { sampleRate: 48_000, seed: 'any', module: 'drums' };
        // The longest flam: what a stroke after the end could still change.
        const compared = end - 0.1;
        const next = edges(settings, options);
        const found: TimedEdge[] = [];
        for (let edge = next(); edge !== undefined && edge.time < end; edge = next()) {
          if (edge.time < compared) found.push(edge);
        }
        const stopped = allEdges(settings, { ...options, until: end });
        expect(found).toEqual(stopped.filter(({ time }) => time < compared));
      }),
      runs(RUNS),
    );
  });
});
