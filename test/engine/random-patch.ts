/** Patches of every kind, put together at random: the engine must play them, whether or not they are music. */

import fc from 'fast-check';
import type { Definition, Jack, SettingSpec } from '../../src/modules/definition.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { formatRow } from '../../src/patch/score/row.ts';
import { formatValue } from '../../src/patch/units.ts';
import { KNOCK } from '../knock.ts';

/** A patch as text, and a change of one of its settings. */
export interface RandomPatch {
  readonly text: string;
  /** A `--set` of a percentage, if a module has one. */
  readonly change: string | undefined;
}

/** Kinds that run; the rhythm sequencer is in every patch. */
const RUNNING = KINDS.filter(({ create, role }) => create !== undefined && role === 'circuit');
/** What moves by itself. */
const SOURCES: ReadonlySet<string> = new Set(['clock', 'cluster', 'noise', 'oscillator', 'random']);
/** Kinds that move only when moved, and so may rest: half of all. */
const STEADY = RUNNING.filter(({ kind }) => !SOURCES.has(kind));
const PATTERN = ['x---', 'x-x-X-x-', 'xx-X?f3-', '----', 'x------- --------'];

/** What decides a patch: drawn by fast-check, so that a failure shrinks. */
export const randomPatch: fc.Arbitrary<RandomPatch> = fc
  .record({
    tempo: fc.constantFrom(40, 92, 240),
    pattern: fc.constantFrom(...PATTERN),
    modules: fc.array(
      fc.record({
        definition: fc.oneof(fc.constantFrom(...STEADY), fc.constantFrom(...RUNNING)),
        /** Whether the module before it, or what the rhythm plays, is plugged into it. */
        chained: fc.boolean(),
        choices: fc.array(fc.nat(), { minLength: 12, maxLength: 12 }),
      }),
      { minLength: 1, maxLength: 7 },
    ),
    cables: fc.array(fc.record({ from: fc.nat(), to: fc.nat() }), { minLength: 1, maxLength: 12 }),
    heard: fc.nat(),
    /** V of a source that never moves; 0 leaves it out. */
    steady: fc.constantFrom(0, 3, -2.5),
  })
  .map(({ tempo, pattern, modules, cables, heard, steady }): RandomPatch => {
    const made = modules.map(({ definition, chained, choices }, index) => {
      const settings = Object.entries(definition.settings).flatMap(([name, spec], i): string[] => {
        // Times within a file are right or wrong by what the file lasts.
        if (definition.clashes !== undefined && spec.type === 'time') return [];
        const text = textFor(spec, choices[i % choices.length] as number);
        return text === undefined ? [] : [`${name}: ${text}`];
      });
      return {
        name: `m${index}`,
        definition,
        chained,
        text: `  m${index}: { ${[`kind: ${definition.kind}`, ...settings].join(', ')} }`,
      };
    });
    const first = steady === 0 ? 'drums.hit' : 'still.out';
    const outputs = [
      first,
      'drums.hit',
      'drums.hit-accent',
      'drums.clock',
      'drums.run',
      'drums.start',
    ];
    const inputs: string[] = [];
    for (const { name, definition } of made)
      for (const jack of jacksOf(definition))
        if (jack.direction !== 'through')
          (jack.direction === 'out' ? outputs : inputs).push(`${name}.${jack.name}`);
    const pick = (list: readonly string[], at: number): string => list[at % list.length] as string;
    const wired =
      inputs.length === 0
        ? []
        : cables.map(({ from, to }) => `${pick(outputs, from)} -> ${pick(inputs, to)}`);
    const chain = made.flatMap(({ name, definition, chained }, index) => {
      const input = jacksOf(definition).find(({ direction }) => direction === 'in');
      const before = made[index - 1];
      const output =
        before && jacksOf(before.definition).find(({ direction }) => direction === 'out');
      if (!chained || input === undefined) return [];
      const from = before && output ? `${before.name}.${output.name}` : first;
      return [`${from} -> ${name}.${input.name}`];
    });
    const last = made.at(-1);
    const end = last && jacksOf(last.definition).find(({ direction }) => direction === 'out');
    const ears = [...(last && end ? [`${last.name}.${end.name}`] : []), pick(outputs, heard)];
    const shares = made.flatMap(({ name, definition }) =>
      Object.entries(definition.settings).flatMap(([setting, spec]) =>
        spec.type === 'percent'
          ? [`${name}.${setting}=${formatValue(middle(spec), 'percent')}`]
          : [],
      ),
    );
    return {
      change: shares[heard % Math.max(1, shares.length)],
      text: [
        'modules:',
        `  drums: { kind: rhythm, tempo: ${tempo} bpm, channels: [hit], patterns: { a: { hit: "${pattern}" } } }`,
        ...(steady === 0 ? [] : [`  still: { kind: attenuator, offset: ${steady} V }`]),
        ...made.map(({ text }) => text),
        '  out: { kind: output }',
        'cables:',
        ...[...new Set([...chain, ...wired])].map((cable) => `  - ${cable}`),
        `  - ${ears[0]} -> out.left`,
        `  - ${ears.at(-1)} -> out.right`,
        '',
      ].join('\n'),
    };
  });

/**
 * Reads a random patch.
 * @returns undefined where two of its settings exclude one another.
 */
export function readRandom(text: string, set: readonly string[] = []): Patch | undefined {
  return readPatch(text, { file: 'random.yaml', kinds: KINDS, set }).patch;
}

function jacksOf(definition: Definition): readonly Jack[] {
  const settings = Object.entries(definition.settings).map(([name, spec]) => [
    name,
    'fallback' in spec ? spec.fallback : undefined,
  ]);
  return definition.jacks(Object.fromEntries(settings));
}

function middle({ min, max }: { readonly min: number; readonly max: number }): number {
  return Math.round(50 * (min + max)) / 100;
}

/** The text of a setting; undefined leaves it as it is. */
function textFor(spec: SettingSpec, choice: number): string | undefined {
  const third = Math.floor(choice / 3);
  if (choice % 3 === 0) return undefined;
  switch (spec.type) {
    case 'choice':
      return spec.options[third % spec.options.length];
    case 'flag':
      return String(third % 2 === 0);
    case 'row':
      return spec.unit === 'gate'
        ? undefined
        : formatRow(
            Array.from(
              { length: Math.max(spec.shortest, third % 6) },
              (_, k) => third % (k + 2),
            ).map((value) => Math.min(spec.max, Math.max(spec.min, value))),
            spec,
          );
    case 'rows':
      return `{ low: [C2, Eb2, ${third % 3} V], high: [${'C4, '.repeat(third % 4)}1.5 V] }`;
    case 'channels':
    case 'patterns':
    case 'song':
    case 'notes':
    case 'rate':
    case 'span':
      return undefined;
    case 'recording':
      return `"${KNOCK}"`;
    case 'count':
      return String(Math.min(spec.max, spec.min + (third % 8)));
    default: {
      const { min, max, fallback, type } = spec;
      const value = [min, max, fallback / 2, fallback + (max - fallback) / 3][third % 4] as number;
      return formatValue(Number(Math.min(max, Math.max(min, value)).toPrecision(3)), type);
    }
  }
}
