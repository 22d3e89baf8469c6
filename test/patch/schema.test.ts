/** The JSON Schema: it accepts what the reader accepts, and rejects the slips that an editor should show. */

import { readFileSync } from 'node:fs';
import { Ajv } from 'ajv';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { KINDS } from '../../src/modules/kinds.ts';
import { rackSchema } from '../../src/patch/rack/rack-schema.ts';
import { readPatch } from '../../src/patch/read.ts';
import { patchSchema, schemaText } from '../../src/patch/schema.ts';
import { KNOCK } from '../knock.ts';
import { TEST_KINDS } from './kinds.ts';
import { FILE, patchWith } from './marked.ts';

const FIXTURES = new URL('./fixtures/', import.meta.url);
const whole = readFileSync(new URL('whole.yaml', FIXTURES), 'utf8');
const part = readFileSync(new URL('parts/hat.yaml', FIXTURES), 'utf8');

// Strict mode refuses words and formats that neither the draft nor editors' YAML extensions have.
function compiled(schema: object) {
  const ajv = new Ajv({ strict: true, strictTypes: false, strictRequired: false, allErrors: true });
  return ajv.addVocabulary(['errorMessage', 'defaultSnippets']).compile(schema);
}
const validate = compiled(patchSchema(TEST_KINDS));

/** As an editor does it: YAML 1.2 with the core schema, then the JSON Schema. */
function valid(text: string): boolean {
  return validate(parse(text));
}

/** Where the schema finds fault, in JSON Pointers. */
function faultsIn(text: string): string[] {
  return valid(text) ? [] : (validate.errors ?? []).map(({ instancePath }) => instancePath);
}

describe('what the reader takes', () => {
  test.each([
    ['a patch with everything in it', whole],
    ['a part', part],
    ['a small patch', patchWith('')],
    ['numbers where a text may stand', `title: 1729\nseed: 3\nabout: 4\n${patchWith('')}`],
    [
      'tab that YAML takes for a number',
      patchWith('b: { kind: sequencer, channels: [a], patterns: { p: { a: 8282 } } }'),
    ],
    [
      'units without a space',
      patchWith('x: { kind: shaper, decay: 16ms tau, sustain: 5%, window: 90us }'),
    ],
    [
      'the older signs for micro and ohm',
      patchWith('x: { kind: hiss, load: 10 k\u2126 }\ny: { kind: shaper, decay: 5 \u00B5s }'),
    ],
    ['cables without spaces', patchWith('', '- noise.pink->out.right')],
  ])('%s is valid', (_what, text) => {
    expect(faultsIn(text)).toEqual([]);
    const load = (): string => part;
    expect(readPatch(text, { file: FILE, kinds: TEST_KINDS, load }).problems).toEqual([]);
  });
});

describe('what the reader refuses', () => {
  test.each<[string, string]>([
    ['titel: a', ''],
    ['title: [a]', '/title'],
    [patchWith('x: { q: 1 }'), '/modules/x'],
    [patchWith('x: { kind: hsis }'), '/modules/x/kind'],
    [patchWith('2x: { kind: hiss }'), '/modules'],
    [patchWith('x: { kind: shaper, dekay: 5 ms }'), '/modules/x'],
    [patchWith('x: { kind: shaper, decay: 55 }'), '/modules/x/decay'],
    [patchWith('x: { kind: shaper, decay: 55 V }'), '/modules/x/decay'],
    [patchWith('x: { kind: shaper, hold: 5 ms tau }'), '/modules/x/hold'],
    [patchWith('x: { kind: shaper, trigger: Switch }'), '/modules/x/trigger'],
    [patchWith('x: { kind: shaper, loop: yes }'), '/modules/x/loop'],
    [patchWith('x: { kind: hiss, cutoff: 7 khz }'), '/modules/x/cutoff'],
    [patchWith('x: { kind: hiss, q: 1 Hz }'), '/modules/x/q'],
    [patchWith('x: { kind: hiss, q: 99 }'), '/modules/x/q'],
    [patchWith('x: { kind: joint, jacks: 2.5 }'), '/modules/x/jacks'],
    [patchWith('x: { kind: sequencer, channels: [a] }'), '/modules/x'],
    [
      patchWith('x: { kind: sequencer, channels: a, patterns: { p: { a: x } } }'),
      '/modules/x/channels',
    ],
    [
      patchWith('x: { kind: sequencer, channels: [a], patterns: { p: { a: xyz } } }'),
      '/modules/x/patterns/p/a',
    ],
    [
      patchWith('x: { kind: sequencer, channels: [a], patterns: { p: { length: 0 } } }'),
      '/modules/x/patterns/p/length',
    ],
    [
      patchWith(
        'x: { kind: sequencer, channels: [a], patterns: { p: { a: x } }, clock: 2 per bar }',
      ),
      '/modules/x/clock',
    ],
    [
      patchWith(
        'x: { kind: sequencer, channels: [a], patterns: { p: { a: x } }, song: [{ repeats: 2 }] }',
      ),
      '/modules/x/song/0',
    ],
    [patchWith('', '- noise -> out'), '/cables/2'],
    [patchWith('', '- noise.pink > out.right'), '/cables/2'],
    [`parts: { a: { set: {} } }\n${patchWith('')}`, '/parts/a'],
  ])('%j is not valid', (text, where) => {
    expect(faultsIn(text)).toContain(where);
    expect(readPatch(text, { file: FILE, kinds: TEST_KINDS }).problems).not.toEqual([]);
  });
});

test('the text is JSON that ends with a line break, and the same every time', () => {
  const text = schemaText(TEST_KINDS);
  expect(text.endsWith('}\n')).toBe(true);
  expect(JSON.parse(text)).toEqual(patchSchema(TEST_KINDS));
  expect(schemaText(TEST_KINDS)).toBe(text);
});

test('every setting is described with what it takes and its default', () => {
  const text = schemaText(TEST_KINDS);
  expect(text).toContain(
    'Decay. A time such as 100 ms (or 16 ms tau), from 0 s to 60 s. Default: 100 ms.',
  );
  expect(text).toContain('Kind of trigger. One of voltage, switch. Default: voltage.');
});

/** All objects in a schema that refuse a value by what no person reads. */
function refusing(value: unknown, path: string): (readonly [string, Record<string, unknown>])[] {
  if (typeof value !== 'object' || value === null) return [];
  const schema = value as Record<string, unknown>;
  // Some properties have these words for names; what they hold is then a schema.
  const own =
    typeof schema.pattern === 'string' ||
    Array.isArray(schema.enum) ||
    typeof schema.minimum === 'number';
  const rest = Object.entries(value).flatMap(([key, inner]) => refusing(inner, `${path}/${key}`));
  return own ? [[path, schema], ...rest] : rest;
}

describe('what an editor says and offers', () => {
  test.each([
    ['patch', patchSchema(KINDS)],
    ['rack', rackSchema(KINDS)],
  ])('every pattern, list and range of a %s says in words what was expected', (_what, schema) => {
    const all = refusing(schema, '');
    expect(all.length).toBeGreaterThan(50);
    const silent = all.filter(([, { errorMessage }]) => typeof errorMessage !== 'string');
    expect(silent.map(([path]) => path)).toEqual([]);
  });

  test('every kind is offered after the name of a module, in a line that is valid', () => {
    const { definitions } = patchSchema(KINDS) as {
      definitions: { module: { defaultSnippets: { label: string; body: string }[] } };
    };
    const snippets = definitions.module.defaultSnippets;
    expect(snippets.map(({ label }) => label)).toEqual(KINDS.map(({ kind }) => kind));
    const check = compiled(patchSchema(KINDS));
    for (const { label, body } of snippets) {
      const text = `modules:\n  a: ${body}\n`;
      check(parse(text));
      expect(check.errors ?? [], label).toEqual([]);
      const loadRecording = () => KNOCK;
      expect(readPatch(text, { file: FILE, kinds: KINDS, loadRecording }).problems).toEqual([]);
    }
  });
});
