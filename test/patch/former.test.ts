/** Files of earlier versions: each problem says, at its place, what to write instead, and can be rewritten so. */

import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import type { Row } from '../../src/modules/definition.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { cycleLength } from '../../src/modules/step-sequencer.ts';
import { renewed } from '../../src/patch/edit/renewed.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import type { Problem } from '../../src/patch/text/problem.ts';
import { unmark } from './marked.ts';

const FILE = 'old.yaml';

function read(
  text: string,
  { set = [], part }: { set?: readonly string[]; part?: string } = {},
): { readonly patch?: Patch; readonly problems: readonly Problem[] } {
  return readPatch(text, { file: FILE, kinds: KINDS, set, load: () => part });
}

function patchOf(module: string, cables: readonly string[] = []): string {
  return `modules:
  tick: { kind: clock }
  one: ${module}
  tone: { kind: oscillator }
  out: { kind: output }
cables:
  - tone.saw -> out.left
${cables.map((cable) => `  - ${cable}\n`).join('')}`;
}

/** The file as it is written now. */
function again(text: string): string | undefined {
  return renewed(read(text).problems, new Map([[FILE, text]]))?.get(FILE);
}

const sequencer = (settings: string): string => patchOf(`{ kind: step-sequencer, ${settings} }`);

describe('what an earlier file says is told with what to write instead', () => {
  test.each<[code: string, marked: string, message: string, expected: string]>([
    [
      'unknown-key',
      sequencer('«row-a»: [C2, Eb2]'),
      '"row-a" is written as "rows" now',
      'rows: { a: [C2, Eb2] }',
    ],
    [
      'unknown-key',
      sequencer('gates: "x-", «row-b»: [0 V, 1 V]'),
      '"row-b" is written as "rows" now',
      'rows: { b: [0 V, 1 V] }',
    ],
    [
      'unknown-key',
      sequencer('«row-a»: [C2, Eb2, F#2], row-b: [0 V, 1 V]'),
      '"row-a" and "row-b" are written as "rows" now',
      // The rows went round together, with the longest.
      'rows: { a: [C2, Eb2, F#2], b: [0 V, 1 V] }, steps: 3',
    ],
    [
      'unknown-key',
      sequencer('«row-a»: [C2, Eb2, F2], gates: "x- x-", steps: 8'),
      '"row-a" is written as "rows" now',
      'rows: { a: [C2, Eb2, F2] }',
    ],
    [
      'unknown-key',
      patchOf('{ kind: cluster, «ratio-1»: 1.5, base: 200 Hz, ratio-3: 4 }'),
      '"ratio-1" and "ratio-3" are written as "ratios" now',
      'ratios: [1.5, 1.723, 4, 3.898, 4.091, 6.283]',
    ],
    [
      'unknown-jack',
      patchOf('{ kind: step-sequencer, rows: { a: [C2] } }', ['tick.out -> one.«shift»']),
      'the jack "shift" is called "offset" now',
      'one.offset',
    ],
  ])('%s: %s', (code, marked, message, expected) => {
    const { text, line, column, length } = unmark(marked);
    const { problems } = read(text);
    expect(problems).toHaveLength(1);
    const place = { file: FILE, line, column, length };
    expect(problems[0]).toMatchObject({ code, place, message, expected });
  });

  it('both at once: the jack is told where the rows are old too', () => {
    const text = patchOf('{ kind: step-sequencer, row-a: [C2] }', [
      'tick.out -> one.clock',
      'tone.sine -> one.shift',
      'one.a -> tone.pitch',
    ]);
    expect(read(text).problems.map(({ message }) => message)).toEqual([
      '"row-a" is written as "rows" now',
      'the jack "shift" is called "offset" now',
    ]);
  });

  it('says what gives a jack that there was whatever was set', () => {
    const cable = 'one.b -> tone.pitch';
    const { text, line, column } = unmark(
      patchOf('{ kind: step-sequencer, rows: { a: [C2] } }', ['one.«b» -> tone.pitch']),
    );
    const problem = {
      code: 'unknown-jack',
      place: { line, column },
      message: '"one" has no jack "b" unless it is set to have one',
      expected: 'rows: { b: [C2] }',
    };
    expect(read(text).problems).toMatchObject([problem]);
    // Where the rows are old too, once these are written as they are now.
    const old = patchOf('{ kind: step-sequencer, row-a: [C2] }', [cable]);
    expect(read(old).problems.map(({ code }) => code)).toEqual(['unknown-key']);
    expect(read(again(old) as string).problems).toMatchObject([problem]);
  });

  it('but a row that is called shift is one', () => {
    const text = patchOf('{ kind: step-sequencer, rows: { shift: [C2] } }', [
      'one.shift -> tone.pitch',
    ]);
    expect(read(text).problems).toEqual([]);
    // Nor is it told while the rows cannot be read, since one may have that name.
    expect(read(text.replace('[C2]', '[H2]')).problems.map(({ code }) => code)).toEqual([
      'wrong-type',
    ]);
  });

  it('without a text where what was given is nothing', () => {
    const [problem, ...others] = read(sequencer('row-a: ')).problems;
    expect(others).toEqual([]);
    expect(problem).toMatchObject({ message: '"row-a" is written as "rows" now' });
    expect(problem?.expected).toBeUndefined();
    expect(problem?.rewrite).toBeUndefined();
  });

  it('from outside the file too, where it is said: by --set and by a part’s set', () => {
    const now = sequencer('rows: { a: [C2] }');
    const [bySet] = read(now, { set: ['one.row-a=[D2, E2]'] }).problems;
    expect(bySet).toMatchObject({
      place: { file: '--set', line: 1, column: 5 },
      expected: 'rows: { a: [D2, E2] }',
    });
    // The file says it rightly, so there is nothing in it to be written otherwise.
    expect(bySet?.rewrite).toBeUndefined();
    const main = `parts: { bass: { file: b.yaml, set: { one.row-b: [F2] } } }
modules: { out: { kind: output } }
`;
    const part = 'modules: { one: { kind: step-sequencer } }\n';
    const [byPart] = read(main, { part }).problems;
    expect(byPart).toMatchObject({
      place: { file: FILE, line: 1 },
      expected: 'rows: { b: [F2] }',
    });
    expect(byPart?.rewrite).toBeUndefined();
  });
});

describe('an earlier file is written as it is now', () => {
  test.each<[what: string, before: string, after: string]>([
    [
      'in the flow style',
      sequencer('row-a: [C2, Eb2], gates: "x-", row-b: [0 V, 1 V], steps: 4'),
      sequencer('rows: { a: [C2, Eb2], b: [0 V, 1 V] }, gates: "x-", steps: 4'),
    ],
    [
      'six of them in the flow style, the last one too',
      patchOf(
        '{ kind: cluster, ratio-1: 1, ratio-2: 2, ratio-3: 3, ratio-4: 4, ratio-5: 5, ratio-6: 6 }',
      ),
      patchOf('{ kind: cluster, ratios: [1, 2, 3, 4, 5, 6] }'),
    ],
    [
      'in the block style, with its comments',
      patchOf(
        '# a bass\n    kind: step-sequencer\n    # the tune\n    row-a: [C2, Eb2, F2]  # low\n    gates: "xx-"\n    row-b:\n      - 0 V\n      - 1 V\n    reset: now',
      ),
      patchOf(
        '# a bass\n    kind: step-sequencer\n    # the tune\n    rows: { a: [C2, Eb2, F2], b: [0 V, 1 V] }\n    steps: 3  # low\n    gates: "xx-"\n    reset: now',
      ),
    ],
    [
      'a comment beside what goes',
      patchOf('\n    kind: step-sequencer\n    row-a: [C2]\n    row-b: [0 V] # bright'),
      patchOf('\n    kind: step-sequencer\n    rows: { a: [C2], b: [0 V] }\n    # bright'),
    ],
    [
      'a comment between them in the flow style',
      patchOf('{ kind: step-sequencer,\n    row-a: [C2], # low\n    row-b: [0 V], gates: "x" }'),
      patchOf('{ kind: step-sequencer,\n    rows: { a: [C2], b: [0 V] }, # low\n     gates: "x" }'),
    ],
    [
      'its cables',
      patchOf('{ kind: step-sequencer, row-a: [C2] }', ['tone.sine   -> one.shift  # wavers']),
      patchOf('{ kind: step-sequencer, rows: { a: [C2] } }', [
        'tone.sine   -> one.offset  # wavers',
      ]),
    ],
  ])('%s', (_, before, after) => {
    expect(again(before)).toBe(after);
    expect(read(after).problems).toEqual([]);
    const lines = (text: string): string => text.replaceAll('\n', '\r\n');
    expect(again(lines(before))).toBe(lines(after));
  });

  it('not where a comment inside would be lost', () => {
    const text = patchOf('\n    kind: step-sequencer\n    row-a:\n      - C2 # low\n      - Eb2');
    expect(again(text)).toBeUndefined();
    expect(read(text).problems[0]?.expected).toBe('rows: { a: [C2, Eb2] }');
  });

  it('not where it is written both ways', () => {
    expect(again(sequencer('row-a: [C2], rows: { a: [D2] }'))).toBeUndefined();
  });

  it('and nothing is, where nothing is old', () => {
    expect(again(sequencer('rows: { a: [C2] }'))).toBeUndefined();
    expect(again(sequencer('row-c: [C2]'))).toBeUndefined();
  });

  it('plays every step as the old file meant it', () => {
    const list = fc.array(fc.integer({ min: -9, max: 9 }), { minLength: 1, maxLength: 12 });
    const maybe = fc.option(list, { nil: undefined });
    fc.assert(
      fc.property(
        list,
        maybe,
        fc.option(fc.integer({ min: 1, max: 12 }), { nil: undefined }),
        fc.option(fc.integer({ min: 1, max: 32 }), { nil: undefined }),
        (a, b, gates, steps) => {
          const row = (values: readonly number[]): string => `[${values.join(' V, ')} V]`;
          const text = sequencer(
            [
              `row-a: ${row(a)}`,
              ...(b ? [`row-b: ${row(b)}`] : []),
              ...(gates ? [`gates: "${'x'.repeat(gates)}"`] : []),
              ...(steps ? [`steps: ${steps}`] : []),
            ].join(', '),
          );
          const now = read(again(text) as string);
          const settings = now.patch?.modules.find(({ name }) => name === 'one')?.settings as {
            rows: readonly Row[];
            gates: readonly number[];
            steps: number;
          };
          // As it was: the steps or the longest row, after which all began again.
          const cycle = steps ?? Math.max(a.length, b?.length ?? 1, gates ?? 1);
          const lengths = [settings.gates, ...settings.rows.map(({ values }) => values)];
          const nowCycle = cycleLength(
            settings.steps,
            lengths.map(({ length }) => length),
          );
          for (const [name, values] of [['a', a] as const, ...(b ? [['b', b] as const] : [])]) {
            const found = settings.rows.find((one) => one.name === name)?.values as number[];
            for (let clock = 0; clock < 3 * cycle; clock++)
              expect(found[(clock % nowCycle) % found.length]).toBe(
                values[(clock % cycle) % values.length],
              );
          }
        },
      ),
    );
  });
});
