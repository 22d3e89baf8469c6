/** What a shell may complete, as data, from the commands' own definitions. */

import type { Argument, Command, Option } from 'commander';
import { RULES } from '../../findings/rules/rules.ts';
import { KINDS } from '../../modules/kinds.ts';

/** What a word can be; `free` is a word that cannot be completed. */
export type WordValues =
  | { readonly type: 'choice'; readonly words: readonly string[] }
  | { readonly type: 'file' | 'folder' | 'free' };

export interface OptionWords {
  readonly long: string;
  readonly short: string | undefined;
  readonly about: string;
  /** What its value can be; undefined for an option that takes none. */
  readonly values: WordValues | undefined;
  /** Whether the value may be left out. */
  readonly isOptional: boolean;
  readonly isRepeatable: boolean;
}

export interface CommandWords {
  readonly name: string;
  readonly about: string;
  readonly options: readonly OptionWords[];
  readonly arguments: readonly { readonly name: string; readonly values: WordValues }[];
  /** Whether the last argument may be given several times. */
  readonly isVariadic: boolean;
}

/** By the word that the help has for a value, such as `<file>`. The tests fail while a new one is missing here. */
const BY_WORD: { readonly [word: string]: WordValues } = {
  file: { type: 'file' },
  patch: { type: 'file' },
  others: { type: 'file' },
  recording: { type: 'file' },
  name: { type: 'free' },
  folder: { type: 'folder' },
  rule: { type: 'choice', words: RULES.map(({ name }) => name) },
  kind: { type: 'choice', words: KINDS.map(({ kind }) => kind) },
};
const FREE: ReadonlySet<string> = new Set([
  'beat',
  'bpm',
  'count',
  'factor',
  'hertz',
  'jack',
  'jacks',
  'k/n',
  'line=channel',
  'name=number',
  'note',
  'number',
  'percent',
  'rate',
  'setting=range',
  'setting=value',
  'setting=values',
  'time',
  'velocity',
  'volts',
]);

/** All commands that a program has; `help` completes their names. */
export function programWords(program: Command): readonly CommandWords[] {
  const names = program.commands.map((command) => command.name());
  const help: CommandWords = {
    name: 'help',
    about: 'print help for a command',
    options: [],
    arguments: [{ name: 'command', values: { type: 'choice', words: names } }],
    isVariadic: false,
  };
  return [...program.commands.map(commandWords), help];
}

function commandWords(command: Command): CommandWords {
  return {
    name: command.name(),
    about: command.summary(),
    options: [...command.options.map(optionWords), HELP],
    arguments: command.registeredArguments.map((argument) => ({
      name: argument.name(),
      values: valuesOf(argument.name(), argument),
    })),
    isVariadic: command.registeredArguments.at(-1)?.variadic === true,
  };
}

const HELP: OptionWords = {
  long: '--help',
  short: '-h',
  about: 'print help',
  values: undefined,
  isOptional: false,
  isRepeatable: false,
};

function optionWords(option: Option): OptionWords {
  const [, word] = /[<[](.*?)[>\]]/.exec(option.flags) ?? [];
  return {
    long: option.long as string,
    short: option.short,
    about: option.description,
    values: word === undefined ? undefined : valuesOf(word, option),
    isOptional: option.optional,
    isRepeatable: Array.isArray(option.defaultValue),
  };
}

function valuesOf(word: string, { argChoices }: Option | Argument): WordValues {
  if (argChoices !== undefined) return { type: 'choice', words: argChoices };
  const values = Object.hasOwn(BY_WORD, word) ? BY_WORD[word] : undefined;
  if (values !== undefined) return values;
  if (FREE.has(word)) return { type: 'free' };
  throw new Error(`nothing is known of what completes <${word}>`);
}
