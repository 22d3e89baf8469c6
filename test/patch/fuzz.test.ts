/** Any text at all: the reader never throws, never hangs, and never accepts a number that is not finite. */

import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { test } from 'vitest';
import { SET_FILE, setSource } from '../../src/patch/overrides.ts';
import { readPatch } from '../../src/patch/read.ts';
import { describeProblem } from '../../src/patch/text/describe.ts';
import { runs } from '../runs.ts';
import { TEST_KINDS } from './kinds.ts';
import { patchWith } from './marked.ts';

const FIXTURES = new URL('./fixtures/', import.meta.url);
const WHOLE = readFileSync(new URL('whole.yaml', FIXTURES), 'utf8');
const PART = readFileSync(new URL('parts/hat.yaml', FIXTURES), 'utf8');

/** Every number in a value, however deep. */
function numbersIn(value: unknown): number[] {
  if (typeof value === 'number') return [value];
  if (typeof value !== 'object' || value === null) return [];
  return Object.values(value).flatMap(numbersIn);
}

/** Reads a text and checks what holds whatever the text. */
function check(text: string, part = PART, set: readonly string[] = []): void {
  const files: ReadonlyMap<string, string> = new Map([
    ['hat.yaml', text],
    ['parts/hat.yaml', part],
    [SET_FILE, setSource(set)],
  ]);
  const load = (path: string): string | undefined => (path === 'parts/hat.yaml' ? part : undefined);
  const { patch, problems } = readPatch(text, { file: 'hat.yaml', kinds: TEST_KINDS, load, set });
  // Plain throws: this runs thousands of times.
  const holds = (truth: boolean, what: string): void => {
    if (!truth) throw new Error(`${what}: ${JSON.stringify(problems)}`);
  };
  holds((patch === undefined) === problems.length > 0, 'a patch, or problems');
  for (const module of patch?.modules ?? []) {
    holds(numbersIn(module.settings).every(Number.isFinite), `${module.name} is finite`);
  }
  for (const problem of problems) {
    const { file, line, column, length } = problem.place;
    const lines = files
      .get(file)
      ?.replace(/^\uFEFF/, '')
      .split(/\r\n|\r|\n/);
    const found = lines?.[line - 1];
    holds(found !== undefined, `${file}:${line} is there`);
    // A place may be just past the last character, where something is missing.
    const end = (found as string).length + 1;
    holds(column >= 1 && column <= end, `column ${column} is there`);
    holds(length >= 1 && column - 1 + length <= Math.max(end - 1, column), `${length} is inside`);
    const shown = describeProblem(problem, (name) => files.get(name)).split('\n');
    holds(shown.length >= 1 && shown.length <= 5, 'it is described in a few lines');
  }
}

test('any string is a patch or has problems', () => {
  fc.assert(
    fc.property(fc.string({ unit: 'binary', maxLength: 200 }), (text) => check(text)),
    runs(300),
  );
});

test('any string of the characters that mean something is a patch or has problems', () => {
  const unit = fc.constantFrom(
    ...'ax19-:,.?|>&*!%@`#"\'[]{}~<= \n\t\r',
    '- ',
    ': ',
    '\n  ',
    'modules:',
    'cables:',
    'kind: hiss',
  );
  fc.assert(
    fc.property(fc.string({ unit, maxLength: 120 }), (text) => check(text)),
    runs(500, 1_000_000),
  );
});

/** One change of the kind that a slip of the hand makes. */
const slip = fc.oneof(
  fc.record({
    what: fc.constantFrom('drop', 'double', 'swap'),
    at: fc.nat(),
    unit: fc.constantFrom('character', 'line'),
  }),
  fc.record({
    what: fc.constant('put'),
    at: fc.nat(),
    unit: fc.constantFrom('character', 'line'),
    text: fc.oneof(
      fc.constantFrom(
        '0',
        '1e999',
        'nan',
        '.inf',
        '-',
        ':',
        '{',
        '}',
        '[',
        ']',
        '"',
        '&',
        '*',
        '!',
        '#',
        '%',
        '\t',
        '\r',
        '\0',
        '\uFEFF',
        '\uD83E',
        '🥁',
        '__proto__',
        'constructor',
        '.',
        '->',
        ' ',
        '<<: ',
        '  ',
      ),
      fc.string({ maxLength: 5 }),
    ),
  }),
);

function withSlip(
  text: string,
  { what, at, unit, ...rest }: { what: string; at: number; unit: string; text?: string },
): string {
  const pieces = unit === 'line' ? text.split('\n') : [...text];
  const i = pieces.length === 0 ? 0 : at % pieces.length;
  const piece = pieces[i] ?? '';
  if (what === 'drop') pieces.splice(i, 1);
  else if (what === 'double') pieces.splice(i, 0, piece);
  else if (what === 'swap') pieces.splice(i, 2, pieces[i + 1] ?? '', piece);
  else pieces.splice(i, 1, rest.text ?? '');
  return pieces.join(unit === 'line' ? '\n' : '');
}

test('a good patch with a few slips is a patch or has problems', () => {
  fc.assert(
    fc.property(fc.array(slip, { minLength: 1, maxLength: 4 }), (slips) =>
      check(slips.reduce(withSlip, WHOLE)),
    ),
    runs(250),
  );
});

test('a good patch with slips in its part is a patch or has problems', () => {
  fc.assert(
    fc.property(fc.array(slip, { minLength: 1, maxLength: 3 }), (slips) =>
      check(WHOLE, slips.reduce(withSlip, PART)),
    ),
    runs(120),
  );
});

test('a good patch with any override is a patch or has problems', () => {
  const path = fc.constantFrom(
    'body.decay',
    'hat.env.decay',
    'drums.patterns.groove.hat',
    'drums.patterns.fill.hat.at',
    'drums.song',
    'seed',
    'rack',
    'out.kind',
    'split.jacks',
    'parts',
    '__proto__.a',
    'body.__proto__',
    'drums.patterns.__proto__.x',
  );
  const set = fc.oneof(
    fc
      .tuple(
        path,
        fc.oneof(
          fc.string({ unit: 'binary', maxLength: 20 }),
          fc.constantFrom('1e999 s', '[', '{ a: 1 }', '"', '8', '80ms'),
        ),
      )
      .map(([a, b]) => `${a}=${b}`),
    fc.string({ maxLength: 30 }),
  );
  fc.assert(
    fc.property(fc.array(set, { minLength: 1, maxLength: 3 }), (sets) => check(WHOLE, PART, sets)),
    runs(150),
  );
});

test('a value of any number and unit is finite or has a problem', () => {
  const number = fc.oneof(
    fc.double().map(String),
    fc.constantFrom(
      '1e308',
      '1e-400',
      '-0',
      '9'.repeat(400),
      '0x10',
      '.inf',
      '.nan',
      '1e',
      '+',
      '',
    ),
  );
  const unit = fc.constantFrom(
    '',
    's',
    'ms tau',
    's tau',
    'Hz',
    'kHz',
    'V',
    '%',
    'dB',
    'bpm',
    'st',
    'cents',
    'Mohm',
    'per step',
  );
  const key = fc.constantFrom(
    'decay',
    'hold',
    'sustain',
    'window',
    'level',
    'q',
    'cutoff',
    'tune',
    'trim',
    'load',
    'jacks',
  );
  fc.assert(
    fc.property(key, number, unit, (name, value, name2) => {
      const kind = ['decay', 'hold', 'sustain', 'window'].includes(name)
        ? 'shaper'
        : name === 'jacks'
          ? 'joint'
          : 'hiss';
      check(patchWith(`x: { kind: ${kind}, ${name}: ${value} ${name2} }`));
    }),
    runs(500),
  );
});

test('a long run of any one character is read in good time', () => {
  const LONG = 100_000;
  const places = [
    (run: string) => patchWith(`x: { kind: shaper, decay: "5${run}s" }`),
    (run: string) => patchWith(`x: { kind: shaper, window: "5${run}%" }`),
    (run: string) => patchWith(`x: { kind: "a${run}b" }`),
    (run: string) => patchWith('', `- "a.b${run}c.d"`),
    (run: string) => `title: a\nrack: "a${run}b"\n${patchWith('')}`,
    (run: string) =>
      patchWith(
        `x: { kind: sequencer, channels: [a], clock: "5${run}per", patterns: { p: { a: "x${run}" } } }`,
      ),
  ];
  for (const character of [' ', '-', '=', '.', '/', '0', 'x', '|', '\\t', ':']) {
    for (const at of places) {
      const start = process.cpuUsage();
      check(at(character.repeat(LONG)));
      // Of the processor: work that grows with the square of the length would take minutes, however idle it is.
      const seconds = process.cpuUsage(start).user / 1e6;
      if (seconds > 5) throw new Error(`${at('...')} with ${character} took ${seconds} s`);
    }
  }
});
