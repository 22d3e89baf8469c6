/** Rows by name, and lists of plain numbers: what is read, and bad input at its place. */

import { Ajv } from 'ajv';
import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { parse } from 'yaml';
import type { Row, RowSpec, RowsSpec } from '../../../src/modules/definition.ts';
import { KINDS } from '../../../src/modules/kinds.ts';
import { stepSequencer } from '../../../src/modules/step-sequencer.ts';
import { readPatch } from '../../../src/patch/read.ts';
import { patchSchema } from '../../../src/patch/schema.ts';
import { formatRow, formatRows } from '../../../src/patch/score/row.ts';
import { close } from '../../close.ts';
import { unmark } from '../marked.ts';

const validate = new Ajv({ strictTypes: false })
  .addVocabulary(['errorMessage', 'defaultSnippets'])
  .compile(patchSchema(KINDS));

function patchOf(module: string, cable = ''): string {
  return `modules:
  tick: { kind: clock }
  walk: ${module}
  tone: { kind: oscillator }
  out: { kind: output }
cables:
  - tick.out -> walk.clock
${cable}`;
}

const walk = (rows: string): string => patchOf(`{ kind: step-sequencer, rows: ${rows} }`);
const cluster = (ratios: string): string => `modules: { metal: { kind: cluster, ${ratios} } }`;

const quantizer = (notes: string): string => `modules: { scale: { kind: quantizer, ${notes} } }`;

function read(text: string): ReturnType<typeof readPatch> {
  return readPatch(text, { file: 'a.yaml', kinds: KINDS });
}

describe('rows', () => {
  it('are outputs of their names, in the order of the file', () => {
    const text = walk('{ pitch: [C2, Eb2], bright: [0 V, 2 V, 1 V] }');
    const { patch, problems } = read(text);
    expect(problems).toEqual([]);
    const module = patch?.modules.find(({ name }) => name === 'walk');
    expect(module?.settings.rows).toEqual([
      { name: 'pitch', values: [0, 3 / 12] },
      { name: 'bright', values: [0, 2, 1] },
    ]);
    const outputs = module?.jacks.filter(({ direction }) => direction === 'out');
    expect(outputs?.map(({ name }) => name)).toEqual(['pitch', 'bright', 'gate', 'first']);
    expect(validate(parse(text))).toBe(true);
  });

  it('may be none, and then there are gates alone', () => {
    for (const module of ['{ kind: step-sequencer }', '{ kind: step-sequencer, rows: {} }']) {
      const { patch } = read(patchOf(module));
      const jacks = patch?.modules.find(({ name }) => name === 'walk')?.jacks;
      expect(jacks?.map(({ name }) => name)).toEqual(['clock', 'reset', 'offset', 'gate', 'first']);
    }
  });

  it('can be set one by one from outside the file, and added', () => {
    const text = walk('{ pitch: [C2, Eb2] }');
    const set = ['walk.rows.pitch=[C3]', 'walk.rows.low=[0 V]'];
    const { patch } = readPatch(text, { file: 'a.yaml', kinds: KINDS, set });
    expect(patch?.modules.find(({ name }) => name === 'walk')?.settings.rows).toEqual([
      { name: 'pitch', values: [1] },
      { name: 'low', values: [0] },
    ]);
  });

  test.each<[code: string, marked: string, message: string, expected?: string]>([
    ['range', walk('{ «pitch»: [] }'), '"pitch" has 0 steps', '1 to 32 notes'],
    ['range', quantizer('«notes»: []'), '"notes" has 0 notes', '1 to 64 notes'],
    [
      'wrong-type',
      quantizer('notes: [C2, «[D2]»]'),
      'a note of "notes" is no note or voltage',
      '1 to 64 notes',
    ],
    ['wrong-type', walk('{ pitch: [C2, «H2»] }'), '"H2" is not a voltage', '1 to 32 notes'],
    ['unit', walk('{ pitch: [C2, «3»] }'), '"pitch" has no unit', '1 to 32 notes'],
    ['range', walk('{ pitch: [«11 V»] }'), '"pitch" is out of range: "11 V"', 'from -10 V'],
    ['wrong-type', walk('{ pitch: «C2» }'), '"pitch" cannot be "C2"', '1 to 32 notes'],
    ['missing', walk('{ «pitch»: }'), '"pitch" has no value', '1 to 32 notes'],
    ['wrong-type', walk('«[C2, Eb2]»'), '"rows" cannot be a list', 'at most 16 rows by name'],
    ['wrong-type', walk('{ «2nd»: [C2] }'), '"2nd" is not a name', 'a letter'],
    ['duplicate', walk('{ «gate»: [C2] }'), 'the row "gate" is the name of a jack', 'another name'],
    ['duplicate', walk('{ «clock»: [C2] }'), 'the row "clock" is the name of a jack'],
    ['duplicate', walk('{ low: [C2], «low»: [C2] }'), '"low" is there already, on line 3'],
    [
      'too-big',
      walk(`{ ${Array.from({ length: 17 }, (_, k) => `r${k}: [C2]`).join(', ')} }`).replace(
        'rows',
        '«rows»',
      ),
      '17 rows',
      'at most 16',
    ],
    [
      'unknown-jack',
      patchOf('{ kind: step-sequencer, rows: { pitch: [C2] } }', '  - walk.«pich» -> tone.pitch\n'),
      '"walk" has no jack "pich"',
    ],
  ])('%s: %s', (code, marked, message, expected) => {
    const { text, line, column, length } = unmark(marked);
    const { problems } = read(text);
    expect(problems).toHaveLength(1);
    expect(problems[0]).toMatchObject({ code, place: { file: 'a.yaml', line, column, length } });
    expect(problems[0]?.message).toContain(message);
    if (expected !== undefined) expect(problems[0]?.expected).toContain(expected);
  });

  it('that are wrong keep their cables from being called wrong too', () => {
    const text = patchOf(
      '{ kind: step-sequencer, rows: { pitch: [H2] } }',
      '  - walk.pitch -> tone.pitch\n',
    );
    expect(read(text).problems.map(({ code }) => code)).toEqual(['wrong-type']);
  });

  it('are read again as they are written', () => {
    const spec = stepSequencer.settings.rows as RowsSpec;
    const name = fc.stringMatching(/^[A-Za-z][A-Za-z0-9_-]{0,39}$/);
    const taken = new Set(['clock', 'reset', 'offset', 'gate', 'first']);
    const semitone = fc.integer({ min: -110, max: 110 }).map((n) => n / 12);
    const volts = fc.integer({ min: -10_000, max: 10_000 }).map((n) => n / 1000);
    const row = fc.array(fc.oneof(semitone, volts), { minLength: 1, maxLength: 32 });
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.record({ name: name.filter((one) => !taken.has(one)), values: row }), {
          selector: (one) => one.name,
          maxLength: 16,
        }),
        (rows) => {
          const text = walk(formatRows(rows, spec));
          const { patch } = read(text);
          const again = patch?.modules.find((module) => module.name === 'walk')?.settings
            .rows as readonly Row[];
          expect(again.map((one) => one.name)).toEqual(rows.map((one) => one.name));
          // Volts are written with 13 digits, so 9.99 V to half of 1e-12 V.
          for (const [k, { values }] of rows.entries())
            for (const [i, value] of values.entries())
              close(again[k]?.values[i], value, {
                abs: 0.6e-12,
                unit: 'V',
                why: 'volts are written with 13 digits, so 9.99 V to half of 1e-12 V',
              });
          expect(validate(parse(text))).toBe(true);
        },
      ),
    );
  });
});

describe('a list of plain numbers', () => {
  it('is read, and written back', () => {
    const spec = KINDS.find(({ kind }) => kind === 'cluster')?.settings.ratios as RowSpec;
    const { patch } = read(cluster('ratios: [1, 2.5, 0.75]'));
    const values = patch?.modules[0]?.settings.ratios as readonly number[];
    expect(values).toEqual([1, 2.5, 0.75]);
    expect(formatRow(values, spec)).toBe('[1, 2.5, 0.75]');
    expect(validate(parse(cluster('ratios: [1, 2.5, 0.75]')))).toBe(true);
  });

  test.each<[code: string, marked: string, message: string]>([
    ['range', cluster('«ratios»: [1]'), '"ratios" has 1 number'],
    ['range', cluster('«ratios»: [1, 2, 3, 4, 5, 6, 7, 8, 9]'), '"ratios" has 9 numbers'],
    ['range', cluster('ratios: [1, «21»]'), '"ratios" is out of range: "21"'],
    ['wrong-type', cluster('ratios: [1, «two»]'), '"two" is not a plain number'],
    ['wrong-type', cluster('ratios: [1, «[2]»]'), 'an item of "ratios" is no number'],
    ['wrong-type', cluster('ratios: «2»'), '"ratios" cannot be "2"'],
    ['unknown-name', cluster('drawn: «9»'), '"drawn" cannot be "9"'],
    ['unknown-name', cluster('drawn: «1»'), '"drawn" cannot be "1"'],
  ])('%s: %s', (code, marked, message) => {
    const { text, line, column, length } = unmark(marked);
    const { problems } = read(text);
    expect(problems).toHaveLength(1);
    expect(problems[0]).toMatchObject({ code, place: { line, column, length } });
    expect(problems[0]?.message).toContain(message);
    expect(validate(parse(text))).toBe(false);
  });
});
