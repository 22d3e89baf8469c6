// No control character of a patch, a rack, a part, a recording or a file's name reaches a terminal or a
// file that Forehear writes: every text that they can hold × every output of every command.

import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { extname, join } from 'node:path';
import { parseMidi } from 'midi-file';
import { describe, expect, it } from 'vitest';
import { printable } from '../../src/text/printable.ts';
import { readRiff } from '../riff.ts';
import { everyCommand } from './every-command.ts';
import { forehear, hasPrinted, interrupted } from './run.ts';
import { PART, PATCH, RACK, workshop, writings } from './writings.ts';

/**
 * C0 with an escape sequence and NUL, DEL, C1, the controls of direction of UAX #9, the separators of
 * lines, half a surrogate pair, and what is no character (Unicode 15, tables of categories).
 */
const EVIL =
  '\u001b]0;own\u0007\u001b[31m\0\b\r\u007f\u0085\u009b31m\u202e\u2066\u200f\u2028\u2029\ufeff\ud800\uffff';
/** As a YAML scalar in double quotes writes it. */
const ESCAPED = Array.from({ length: EVIL.length }, (_, at) => EVIL.charCodeAt(at))
  .map((unit) => `\\u${unit.toString(16).padStart(4, '0')}`)
  .join('');
/** What a file's name can hold of it. */
const NAME = `hat\u001b[31m\u0007\u0085\u202e`;

const UNSAFE =
  /(?![\n\t])[\p{Cc}\p{Zl}\p{Zp}\p{Cs}\uFFFE\uFFFF\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]/u;

function expectSafe(text: string, what: string): void {
  const found = UNSAFE.exec(text);
  const near = found === null ? '' : text.slice(Math.max(0, found.index - 60), found.index + 20);
  expect(JSON.stringify(near), what).toBe('""');
}

/** The workshop, with the characters wherever a text can be. */
function hostile(): string {
  const folder = workshop();
  const evil = `"x${ESCAPED}y"`;
  const rack = RACK.replace('title: Cabinet', `title: ${evil}\nabout: ${evil}`);
  const patch = PATCH.replace('title: Hat', `title: ${evil}\nabout: ${evil}\nseed: ${evil}`);
  for (const [name, text] of [
    ['cabinet.yaml', rack],
    ['voice.yaml', PART.replace('title: Voice', `title: ${evil}\nabout: ${evil}`)],
    ['hat.yaml', patch],
    ['faulty.yaml', patch.replace('gate: 2 ms', 'gate: 0.2 ms')],
  ] as const)
    writeFileSync(join(folder, name), text);
  writeFileSync(join(folder, `${NAME}-patch.yaml`), patch);
  writeFileSync(join(folder, `${NAME}.wav`), readFileSync(join(folder, 'take.wav')));
  return folder;
}

/** The texts that a file written holds. */
function textsIn(file: string): readonly string[] {
  const bytes = readFileSync(file);
  const text = (body: Uint8Array): string => new TextDecoder().decode(body);
  switch (extname(file)) {
    case '.wav':
      return readRiff(bytes)
        .chunks.filter(({ id }) => id === 'LIST')
        .flatMap(({ body }) => listTexts(body));
    case '.mid':
      return parseMidi(bytes).tracks.flatMap((track) =>
        track.flatMap((event) =>
          'text' in event ? [text(Buffer.from(event.text, 'latin1'))] : [],
        ),
      );
    default:
      return [text(bytes)];
  }
}

/** The texts of the chunks in a list: those of INFO begin at once, labels after a number. */
function listTexts(body: Uint8Array): readonly string[] {
  const view = new DataView(body.buffer, body.byteOffset, body.byteLength);
  const texts: string[] = [];
  for (let at = 4; at + 8 <= body.length; ) {
    const id = new TextDecoder().decode(body.subarray(at, at + 4));
    const size = view.getUint32(at + 4, true);
    const content = body.subarray(at + 8 + (id === 'labl' ? 4 : 0), at + 8 + size);
    // A zero ends a text.
    const end = content.indexOf(0);
    texts.push(new TextDecoder().decode(content.subarray(0, end < 0 ? undefined : end)));
    at += 8 + size + (size % 2);
  }
  return texts;
}

const ALL = await everyCommand();
const WRITINGS = await writings();

describe('control characters', () => {
  it.each(
    ALL.flatMap((one) =>
      [[], ['--json']].map((more) => {
        const args = one.args.map((word) =>
          word === 'hat.yaml' ? `${NAME}-patch.yaml` : word === 'take.wav' ? `${NAME}.wav` : word,
        );
        return [
          `${one.name} ${printable([...args, ...more].join(' '))}`,
          one,
          [...args, ...more],
        ] as const;
      }),
    ),
  )('reach no terminal and no file by %s', async (_title, { name, stdin, isEndless }, args) => {
    const folder = hostile();
    const before = new Set(readdirSync(folder));
    const words = [name, ...args];
    const { status, stdout, stderr } = isEndless
      ? await interrupted(folder, words, hasPrinted)
      : forehear(folder, words, stdin);
    // A check that found a fault ends with 1.
    expect({ status, stderr: status === 2 ? stderr : '' }).toEqual({
      status: args.includes('--fix') && !args.includes('--write') ? 1 : 0,
      stderr: '',
    });
    expectSafe(stdout, 'standard output');
    expectSafe(stderr, 'standard error');
    for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true })) {
      const [first = ''] = entry.parentPath === folder ? [entry.name] : [''];
      if (!entry.isFile() || before.has(first) || entry.name.startsWith('.')) continue;
      for (const text of textsIn(join(entry.parentPath, entry.name))) expectSafe(text, entry.name);
    }
  });

  it.each(
    WRITINGS.filter(({ ending }) => ending !== '/').map(
      (one) => [`${one.command} ${one.option}`, one] as const,
    ),
  )(
    'reach nothing that %s writes on standard output',
    (_title, { command, option, args, ending }) => {
      const folder = hostile();
      const file = `out${ending}`;
      const { status, stderr } = forehear(folder, [
        command,
        ...args.map((word) => (word === 'hat.yaml' ? `${NAME}-patch.yaml` : word)),
        option,
        file,
      ]);
      expect({ status, stderr: status === 0 ? '' : stderr }).toEqual({ status: 0, stderr: '' });
      for (const text of textsIn(join(folder, file))) expectSafe(text, file);
    },
  );

  // What a person gets wrong is told with the words that are wrong.
  const evil = EVIL.replaceAll('\0', '').replace('\ud800', '');
  it.each(
    ALL.flatMap(({ name, args, command, isEndless }) =>
      isEndless
        ? []
        : command.options
            .filter(({ required }) => required)
            // An output that these words name already is tried with other words.
            .filter(({ short, long }) => !args.some((word) => word === short || word === long))
            .map(({ long }) => [name, long as string, args] as const),
    ),
  )('stand in no error of %s %s', (name, option, args) => {
    for (const more of [[], ['--json']]) {
      const { stdout, stderr } = forehear(workshop(), [name, ...args, option, `x${evil}`, ...more]);
      expectSafe(stdout, 'standard output');
      expectSafe(stderr, 'standard error');
    }
  });

  it.each([
    ['a title that is a list', `title: ["x${ESCAPED}"]\n`],
    ['a key', `"k${ESCAPED}": 1\n`],
    ['a kind', `modules: { out: { kind: "k${ESCAPED}" } }\n`],
    ['a name', `modules: { "n${ESCAPED}": { kind: output } }\n`],
    ['a setting', `modules: { a: { kind: noise, "s${ESCAPED}": 1 } }\n`],
    ['a value', `modules: { a: { kind: noise, level: "v${ESCAPED}" } }\n`],
    ['a cable', `cables: ["c${ESCAPED} -> d${ESCAPED}"]\n`],
    ['a part', `parts: { p: "p${ESCAPED}" }\n`],
    ['a rack', `rack: "r${ESCAPED}"\n`],
    ['a comment', `# \u202e\u2066\nmodules: 3 # \u202e\u200f\n`],
  ])('stand in no message about %s', (_what, text) => {
    const folder = workshop();
    writeFileSync(join(folder, 'bad.yaml'), text);
    for (const args of [['check'], ['check', '--json'], ['render']]) {
      const [command = '', ...more] = args;
      const { status, stdout, stderr } = forehear(folder, [command, 'bad.yaml', ...more]);
      expect(status).toBe(2);
      expectSafe(stdout, 'standard output');
      expectSafe(stderr, 'standard error');
    }
  });
});
