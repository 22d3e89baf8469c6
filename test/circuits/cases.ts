/** Modules of a kind, drawn at random by fast-check: settings, cables, volts. */

import fc from 'fast-check';
import type {
  Definition,
  Edge,
  NumberSpec,
  Recorded,
  RowSpec,
  SettingSpec,
} from '../../src/modules/definition.ts';
import type { InputFacts } from '../../src/modules/facts.ts';
import { BLOCK, type Place, type Signals } from './bench.ts';

export interface Case {
  readonly place: Place;
  readonly blocks: number;
  readonly signals: Signals;
}

/**
 * Numbers spread evenly over a range, its ends among them. (Those of `fc.double` are spread over what a
 * computer can write down, so that nearly all of them are next to nothing.)
 */
export function between(min: number, max: number): fc.Arbitrary<number> {
  const steps = 2 ** 30;
  return fc.integer({ min: 0, max: steps }).map((n) => min + (max - min) * (n / steps));
}

/** s. What is shorter comes and goes within a case. */
const SHORT = 0.02;

/** Numbers all over a setting's range; of times and frequencies as many in each decade. */
function number({ min, max, type }: NumberSpec): fc.Arbitrary<number> {
  if (type === 'count') return fc.integer({ min, max });
  if (type !== 'time' && type !== 'frequency') return between(min, max);
  const least = min > 0 ? min : 1e-5;
  const spread = (most: number): fc.Arbitrary<number> =>
    between(0, 1).map((part) => least * (most / least) ** part);
  return fc.oneof(
    { weight: 1, arbitrary: fc.constant(min) },
    { weight: 3, arbitrary: spread(max) },
    { weight: 3, arbitrary: spread(type === 'time' ? Math.min(SHORT, max) : max) },
  );
}

/** Noise as a file would hold it. */
const recorded: fc.Arbitrary<Recorded> = fc
  .record({
    sampleRate: fc.constantFrom(8000, 44_100, 48_000, 96_000),
    channels: fc.array(
      fc.array(between(-1, 1), { minLength: 1, maxLength: 600 }).map((l) => Float64Array.from(l)),
      { minLength: 1, maxLength: 3 },
    ),
  })
  .map((drawn) => ({ ...drawn, path: 'noise.wav', toJSON: () => 'noise.wav' }));

function row({ unit, min, max, shortest, longest }: RowSpec): fc.Arbitrary<number[]> {
  const value = unit === 'gate' ? fc.integer({ min: 0, max: 1 }) : between(min, max);
  return fc.array(value, { minLength: shortest, maxLength: Math.min(longest, 9) });
}

function setting(spec: SettingSpec): fc.Arbitrary<unknown> {
  switch (spec.type) {
    case 'choice':
      return fc.constantFrom(...spec.options);
    case 'flag':
      return fc.boolean();
    case 'row':
      return row(spec);
    case 'rows':
      return fc
        .array(row(spec.row), { maxLength: 4 })
        .map((rows) => rows.map((values, k) => ({ name: `row-${k}`, values })));
    case 'recording':
      return recorded;
    case 'channels':
      return fc.constant([{ name: 'hit' }]);
    case 'patterns':
      return fc.constant([]);
    case 'span':
    case 'rate':
    case 'song':
    case 'notes':
      return fc.constant('fallback' in spec ? spec.fallback : undefined);
    default:
      return number(spec);
  }
}

/** How the volts at an input go. */
interface Course {
  readonly shape: 'steady' | 'held' | 'gate' | 'noise' | 'sine' | 'struck';
  readonly volts: number;
  readonly samples: number;
  readonly seed: number;
}

const course: fc.Arbitrary<Course> = fc.record({
  shape: fc.constantFrom('steady', 'held', 'gate', 'gate', 'noise', 'sine', 'struck'),
  volts: fc.oneof(fc.constantFrom(0, 5, -5, 1.5, 2.5), between(-12, 12)),
  samples: fc.integer({ min: 1, max: 400 }),
  seed: fc.integer({ min: 1, max: 2 ** 31 - 2 }),
});

const gates = course.map((drawn): Course => ({ ...drawn, shape: 'gate' }));

function signalOf({ shape, volts, samples, seed }: Course, length: number): Float64Array {
  // Park and Miller's minimal generator (Comm. ACM 31 (1988) 1192): enough for volts at a jack.
  let state = seed;
  const random = (): number => {
    state = (state * 16_807) % (2 ** 31 - 1);
    return state / (2 ** 31 - 1);
  };
  const signal = new Float64Array(length);
  let now = 0;
  let left = 0;
  for (let n = 0; n < length; n++) {
    if (shape === 'steady') now = volts;
    else if (shape === 'noise') now = volts * (2 * random() - 1);
    else if (shape === 'sine') now = volts * Math.sin(n / samples);
    else if (shape === 'struck') now = n < samples ? volts * (2 * random() - 1) : 0;
    else if (left-- === 0) {
      left = 1 + Math.floor(2 * samples * random());
      if (shape === 'gate') now = now === 0 ? 5 : 0;
      else now = random() < 0.3 ? 0 : volts * (2 * random() - 1);
    }
    signal[n] = now;
  }
  return signal;
}

const edges: fc.Arbitrary<Edge[]> = fc
  .array(
    fc.record({
      gap: fc.integer({ min: 0, max: 300 }),
      output: fc.integer({ min: 0, max: 4 }),
      volts: fc.constantFrom(0, 5, 3.3),
    }),
    { maxLength: 20 },
  )
  .map((list) => {
    let sample = 0;
    return list.map(({ gap, output, volts }) => {
      sample += gap;
      return { sample, output, volts };
    });
  });

/** @param length blocks at most. */
export function cases(definition: Definition, length = 6): fc.Arbitrary<Case> {
  const settings: fc.Arbitrary<Record<string, unknown>> = fc.record(
    Object.fromEntries(
      Object.entries(definition.settings).map(([name, spec]) => [
        name,
        // Half of all settings keep their defaults, since extreme values hide what ordinary ones show.
        'fallback' in spec ? fc.oneof(fc.constant(spec.fallback), setting(spec)) : setting(spec),
      ]),
    ),
  );
  return settings.chain((values) => {
    const jacks = definition.jacks(values);
    const inputs = jacks.filter((jack) => jack.direction === 'in');
    const outputs = jacks.filter((jack) => jack.direction === 'out');
    return fc
      .record({
        sampleRate: fc.constantFrom(8000, 44_100, 48_000),
        driven: fc.oneof(
          fc.constant(inputs.map(({ name }) => name)),
          fc.subarray(inputs.map(({ name }) => name)),
        ),
        heard: fc.subarray(
          outputs.map(({ name }) => name),
          { minLength: 1 },
        ),
        courses: fc.tuple(
          ...inputs.map(({ facts }) => (facts.trigger ? fc.oneof(course, gates) : course)),
        ),
        sounding: fc.subarray(inputs.map(({ name }) => name)),
        // A pulled-up input without a plug is on from the start.
        pulledUp: fc.subarray(inputs.filter(({ facts }) => facts.trigger).map(({ name }) => name)),
        gain: fc.constantFrom(1, 100 / 101),
        edges,
        blocks: fc.integer({ min: 1, max: length }),
      })
      .map(
        ({
          sampleRate,
          driven,
          heard,
          courses,
          sounding,
          pulledUp,
          gain,
          edges: score,
          blocks,
        }) => {
          const facts: Record<string, InputFacts> = {};
          for (const { name, facts: usual } of inputs)
            if (pulledUp.includes(name)) facts[name] = { ...usual, rest: 5 };
          const signals: Record<string, Float64Array> = {};
          inputs.forEach(({ name }, i) => {
            if (driven.includes(name))
              signals[name] = signalOf(courses[i] as Course, blocks * BLOCK);
          });
          const patched = [...driven, ...heard];
          const sounds = driven.filter((name) => sounding.includes(name));
          return {
            place: { sampleRate, values, patched, sounds, facts, gain, edges: score },
            blocks,
            signals,
          };
        },
      );
  });
}
