/** The rows of a step sequencer: notes, volts and gates. */

import { Ajv } from 'ajv';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { type Definition, define } from '../../../src/modules/definition.ts';
import { readPatch } from '../../../src/patch/read.ts';
import { patchSchema } from '../../../src/patch/schema.ts';
import { formatRow } from '../../../src/patch/score/row.ts';
import { close } from '../../close.ts';

const settings = {
  notes: {
    type: 'row',
    unit: 'pitch',
    min: -2,
    max: 5,
    shortest: 1,
    longest: 8,
    fallback: [0, 1],
    about: 'Pitches.',
  },
  gates: {
    type: 'row',
    unit: 'gate',
    min: 0,
    max: 1,
    shortest: 1,
    longest: 8,
    fallback: [1, 1],
    about: 'Gates.',
  },
} as const;
const stepper = define({
  kind: 'stepper',
  about: 'Steps.',
  settings,
  jacks: () => [],
  role: 'circuit',
  example: '',
});
const KINDS: readonly Definition[] = [stepper];
const validate = new Ajv({ strictTypes: false })
  .addVocabulary(['errorMessage', 'defaultSnippets'])
  .compile(patchSchema(KINDS));

function textOf(setting: string): string {
  return `modules: { s: { kind: stepper, ${setting} } }`;
}

function read(setting: string): ReturnType<typeof readPatch> {
  return readPatch(textOf(setting), { file: 'a', kinds: KINDS });
}

// One volt an octave with 0 V at C2, so a note is at its semitones above C2 / 12. MIDI Tuning and
// scientific pitch notation agree that C4 is 24 semitones above C2. Exact: the same division.
test.each<[string, readonly number[]]>([
  ['C2', [0]],
  ['C3, C1, C0', [1, -1, -2]],
  ['D2, E2, F2, G2, A2, B2', [2 / 12, 4 / 12, 5 / 12, 7 / 12, 9 / 12, 11 / 12]],
  ['C#2, Db2', [1 / 12, 1 / 12]],
  ['B#1, Cb2', [0, -1 / 12]],
  ['Bb2, F#3', [10 / 12, 1 + 6 / 12]],
  ['0.5 V, 250 mV, -2 V', [0.5, 0.25, -2]],
])('pitches [%s] are read', (notes, expected) => {
  const { patch, problems } = read(`notes: [${notes.replace(/[^,\s]*#[^,]*/g, '"$&"')}]`);
  expect(problems).toEqual([]);
  const values = patch?.modules[0]?.settings.notes as readonly number[];
  // Adding the octave to twelfths may round in the last bit.
  expect(values).toHaveLength(expected.length);
  values.forEach((value, i) => {
    close(value, expected[i] as number, {
      abs: 1e-15 * 8,
      unit: 'V',
      why: 'adding the octave to twelfths may round in the last bit',
    });
  });
  expect(validate(parse(textOf(`notes: [${notes.replace(/[^,\s]*#[^,]*/g, '"$&"')}]`)))).toBe(true);
});

test('gates are read as tab', () => {
  const { patch } = read('gates: "x-x- | --xx"');
  expect(patch?.modules[0]?.settings.gates).toEqual([1, 0, 1, 0, 0, 0, 1, 1]);
  expect(formatRow([1, 0, 1, 0], settings.gates)).toBe('x-x-');
});

test('what a row is without the file is its fallback', () => {
  expect(read('').patch?.modules[0]?.settings).toEqual({ notes: [0, 1], gates: [1, 1] });
});

describe('a wrong row is reported where it is wrong', () => {
  test.each<[string, string]>([
    ['notes: [C2, H2]', 'wrong-type 44+2 -'],
    ['notes: [C2, c3]', 'wrong-type 44+2 C3'],
    ['notes: [C2, 5]', 'unit 44+1 -'],
    ['notes: [C9]', 'range 40+2 -'],
    ['notes: [9 V]', 'range 40+3 -'],
    ['notes: []', 'range 32+5 -'],
    ['notes: [C2, C2, C2, C2, C2, C2, C2, C2, C2]', 'range 32+5 -'],
    ['notes: C2', 'wrong-type 39+2 -'],
    ['notes: [[C2]]', 'wrong-type 40+4 -'],
    ['notes:', 'missing 32+5 -'],
    ['gates: "x-yy-"', 'pattern 42+2 -'],
    ['gates: xxxxxxxxx', 'range 32+5 -'],
    ['gates: "|"', 'range 32+5 -'],
    ['gates: [x]', 'wrong-type 39+3 -'],
  ])('%s', (setting, expected) => {
    const found = read(setting).problems.map(
      ({ code, place, nearest }) => `${code} ${place.column}+${place.length} ${nearest ?? '-'}`,
    );
    expect(found).toEqual([expected]);
  });
});
