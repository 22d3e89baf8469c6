// What scripts rely on, for every command: with --json there is one JSON object on standard output, in one
// line, whatever happens, and every file that was written is in it.

import { readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { everyCommand } from './every-command.ts';
import { forehear, hasPrinted, interrupted, scratch } from './run.ts';
import { workshop } from './writings.ts';

const ALL = await everyCommand();
const COMMANDS = ALL.filter(
  ({ name }, index) => ALL.findIndex((other) => other.name === name) === index,
);
const OF_A_PATCH = COMMANDS.filter(({ args }) => args[0] === 'hat.yaml');
const ERROR_KEYS = ['code', 'column', 'expected', 'file', 'line', 'message', 'nearest'];

/** The one object of an output. */
function objectIn(stdout: string): Record<string, unknown> {
  expect(stdout).toMatch(/^\{[^\n]*\}\n$/);
  return JSON.parse(stdout);
}

interface ErrorData {
  readonly code: string;
  readonly file: string | null;
  readonly line: number | null;
  readonly column: number | null;
  readonly message: string;
  readonly expected: string | null;
}

function errorsIn(stdout: string): readonly ErrorData[] {
  const { errors } = objectIn(stdout) as { errors: ErrorData[] };
  expect(errors.length).toBeGreaterThan(0);
  for (const error of errors) {
    expect(Object.keys(error).sort()).toEqual(ERROR_KEYS);
    expect(error.message).not.toBe('');
  }
  return errors;
}

function filesIn(folder: string): readonly string[] {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && !entry.name.startsWith('.'))
    .map(({ parentPath, name }) => join(parentPath, name));
}

/** All strings in a value. */
function stringsIn(value: unknown): readonly string[] {
  if (typeof value === 'string') return [value];
  return typeof value === 'object' && value !== null ? Object.values(value).flatMap(stringsIn) : [];
}

describe('with --json', () => {
  it.each(ALL.map((one) => [`${one.name} ${one.args.join(' ')}`, one] as const))(
    '%s prints one object, with every file that it wrote',
    async (_title, { name, args, stdin, isEndless }) => {
      const folder = workshop();
      const before = new Set(filesIn(folder));
      const words = [name, ...args, '--json'];
      const { stdout } = isEndless
        ? await interrupted(folder, words, hasPrinted)
        : forehear(folder, words, stdin);
      const object = objectIn(stdout);
      expect(object).not.toHaveProperty('errors');
      const named = stringsIn(object).map((path) => join(folder, path));
      for (const file of filesIn(folder).filter((path) => !before.has(path)))
        expect(named, file).toContain(file);
    },
  );

  it.each(COMMANDS.map(({ name, args }) => [name, args] as const))(
    '%s tells of an option that it does not have as data',
    (name, args) => {
      const { status, stdout, stderr } = forehear(scratch(), [
        name,
        ...args,
        '--no-such',
        '--json',
      ]);
      expect(status).toBe(2);
      expect(errorsIn(stdout)).toMatchObject([{ code: 'usage' }]);
      expect(stderr).toContain('--no-such');
      expect(stderr).not.toContain('--help" for what is possible');
    },
  );

  it.each(
    COMMANDS.flatMap(({ name, args, command }) =>
      command.options
        .filter((option) => option.required && option.parseArg !== undefined)
        .filter((option) => !Array.isArray(option.defaultValue))
        .map((option) => [name, option.long as string, args] as const),
    ),
  )('%s tells what %s expects as data', (name, option, args) => {
    const { status, stdout } = forehear(scratch(), [name, ...args, option, '\u2620', '--json']);
    expect(status).toBe(2);
    const [error] = errorsIn(stdout);
    expect(error?.code).toBe('usage');
    expect(error?.expected).toBeTruthy();
  });

  // `listen` shows a broken patch in the page, and goes on.
  const ending = OF_A_PATCH.filter(({ isEndless }) => isEndless === undefined);
  it.each(ending.map(({ name, args }) => [name, args] as const))(
    '%s tells what is wrong in the patch by file, line and column',
    (name, args) => {
      const folder = workshop();
      writeFileSync(join(folder, 'hat.yaml'), 'title: x\nmodules:\n  out: { kind: outptu }\n');
      const { status, stdout } = forehear(folder, [name, ...args, '--json']);
      expect(status).toBe(2);
      expect(errorsIn(stdout)).toMatchObject([
        { code: 'unknown-kind', file: 'hat.yaml', line: 3, column: 16, nearest: 'output' },
      ]);
    },
  );

  it.each(OF_A_PATCH.map(({ name, args }) => [name, args] as const))(
    '%s tells which file is not there',
    (name, args) => {
      const { status, stdout } = forehear(scratch(), [name, ...args, '--json']);
      expect(status).toBe(2);
      expect(errorsIn(stdout)[0]).toMatchObject({ code: 'request', file: 'hat.yaml' });
    },
  );

  it('tells of a command that there is not, and of none at all', () => {
    expect(errorsIn(forehear(scratch(), ['rendr', '--json']).stdout)).toMatchObject([
      { code: 'usage', nearest: 'render' },
    ]);
    expect(errorsIn(forehear(scratch(), ['--json']).stdout)).toMatchObject([{ code: 'usage' }]);
  });

  it('keeps the figures of the recordings that could be read', () => {
    const folder = workshop();
    const { status, stdout } = forehear(folder, ['measure', 'take.wav', 'none.wav', '--json']);
    expect(status).toBe(2);
    expect(errorsIn(stdout)).toMatchObject([{ file: 'none.wav' }]);
    expect(objectIn(stdout).files).toMatchObject([{ file: 'take.wav' }]);
  });

  it('gives what the text of a score of time tells', () => {
    const { stdout } = forehear(workshop(), ['timing', 'hat.yaml', '--bars', '1', '--json']);
    expect(objectIn(stdout).summary).toMatchObject({
      title: 'Hat',
      bars: 1,
      // A beat of a quarter has two strokes.
      answers: [{ jack: 'voice.shape.trigger', sent: 8, noticed: 8 }],
    });
  });
});
