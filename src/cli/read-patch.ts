/** Reads a patch for a command: a file or standard input, its parts, `--set`, and what is wrong. */

import { resolve } from 'node:path';
import { errorCode, InputError, readInput, readStdin } from '../files/inputs.ts';
import { KINDS } from '../modules/kinds.ts';
import type { Unread } from '../patch/load.ts';
import { SET_FILE, setSource } from '../patch/overrides.ts';
import type { Patch } from '../patch/patch.ts';
import { readPatch as read } from '../patch/read.ts';
import { counted } from '../patch/text/counted.ts';
import { describeProblem } from '../patch/text/describe.ts';
import type { Problem } from '../patch/text/problem.ts';
import { EXIT, failedFile, Stop, wrongFile } from './exit.ts';

export interface Reading {
  readonly patch: Patch;
  /** The text of each file that was read, by the name that places have for it. */
  readonly sources: ReadonlyMap<string, string>;
}

/** What was found in the files, whether it is a patch or not. */
export interface Found {
  /** Absent if anything is wrong. */
  readonly patch?: Patch;
  readonly problems: readonly Problem[];
  /** As in {@link Reading}, the text of `--set` among them. */
  readonly sources: ReadonlyMap<string, string>;
  /** Files that the patch names and that are not there. */
  readonly missing: readonly string[];
}

export interface ReadingOptions {
  /** Another rack than the patch's own. */
  readonly rack?: string | undefined;
  /** Texts to read in place of files, such as ones not written yet. */
  readonly texts?: ReadonlyMap<string, string>;
}

/**
 * Reads and checks a patch, its parts and its rack.
 * @param file a path, or `-` for standard input, whose parts are looked for in the current folder.
 * @param set `module.setting=value`, each as the command line gave it.
 * @throws Stop with every problem in the file described, or why it could not be read.
 */
export function readPatch(file: string, set: readonly string[], rack?: string): Patch {
  return readWithSources(file, set, { rack }).patch;
}

/**
 * Reads and checks a patch, and keeps the texts that it was read from.
 * @throws Stop as {@link readPatch} does.
 */
export function readWithSources(
  file: string,
  set: readonly string[],
  options: ReadingOptions = {},
): Reading {
  const { patch, problems, sources } = findPatch(file, set, options);
  if (patch !== undefined) return { patch, sources };
  throw problemsStop(problems, sources);
}

/** The end that problems make of a command. */
export function problemsStop(
  problems: readonly Problem[],
  sources: ReadonlyMap<string, string>,
): Stop {
  return new Stop(
    EXIT.request,
    `${describeProblems(problems, sources)}; nothing was done.${howMended(problems)}`,
    problems.map(({ code, place, message, expected, nearest }) => ({
      code,
      file: place.file,
      line: place.line,
      column: place.column,
      message,
      expected,
      nearest,
    })),
  );
}

/** What mends those that are known to be mended; nothing where there are others. */
function howMended(problems: readonly Problem[]): string {
  const isInFile = ({ rewrite }: Problem): boolean =>
    rewrite !== undefined && rewrite.place.file !== SET_FILE;
  if (!problems.every(isInFile)) return '';
  return ' To have the file written so: forehear check PATCH --fix --write.';
}

/** Puts all problems into words, with their count at the end. */
function describeProblems(
  problems: readonly Problem[],
  sources: ReadonlyMap<string, string>,
): string {
  const described = problems.map((problem) =>
    describeProblem(problem, (name) => sources.get(name)),
  );
  const count = counted(problems.length, 'problem');
  return `${described.join('\n\n')}\n\n${count}`;
}

/**
 * Reads and checks a patch, its parts and its rack, whatever is in them.
 * @throws Stop if a file that has to be there cannot be read, or any is not text.
 */
export function findPatch(
  file: string,
  set: readonly string[],
  { rack, texts = new Map() }: ReadingOptions = {},
): Found {
  const sources = new Map<string, string>();
  const missing: string[] = [];
  const textOf = (name: string, load: () => string): string => {
    const text = texts.get(name) ?? load();
    sources.set(name, text);
    return text;
  };
  const text = textOf(file, () => (file === '-' ? readStandard() : readNamed(file)));
  const load = (path: string): string | Unread | undefined => {
    const found = texts.get(path) ?? readPart(path);
    if (typeof found === 'string') sources.set(path, found);
    else missing.push(path);
    return found;
  };
  const other =
    rack === undefined ? undefined : { file: rack, text: textOf(rack, () => readNamed(rack)) };
  const { patch, problems } = read(text, {
    file,
    kinds: KINDS,
    set,
    load,
    loadRack: load,
    ...(other && { rack: other }),
  });
  sources.set(SET_FILE, setSource(set));
  return { ...(patch && { patch }), problems, sources, missing };
}

function readStandard(): string {
  try {
    return decode(readStdin());
  } catch (error) {
    throw unreadable('standard input', error);
  }
}

function readNamed(file: string): string {
  try {
    return decode(readInput(file));
  } catch (error) {
    throw unreadable(file, error);
  }
}

/** The text of a part or a rack. Why one is not read is told where the patch names it. */
export function readPart(path: string): string | Unread | undefined {
  try {
    return decode(readInput(resolve('.', path)));
  } catch (error) {
    const code = errorCode(error);
    if (code === 'ENOENT' || code === 'ENOTDIR') return undefined;
    return { why: whyUnread(error) };
  }
}

/** What is in a file is no text. */
class NoText extends Error {}

function decode(bytes: Uint8Array): string {
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    throw new NoText();
  }
}

/** A clause that follows the file's name. */
function whyUnread(error: unknown): string {
  if (error instanceof InputError) return error.reason;
  if (error instanceof NoText) return 'is not text in UTF-8';
  const { code, message } = error as NodeJS.ErrnoException;
  if (code === 'EACCES' || code === 'EPERM') return 'may not be read: permission is denied';
  if (code === 'ENXIO') return 'is a socket, not a file';
  return `could not be read: ${message}`;
}

function unreadable(file: string, error: unknown): Stop {
  if (error instanceof NoText)
    return wrongFile(
      file,
      'this is not text in UTF-8, which a patch file must be. Save it as UTF-8 in your editor.',
    );
  if (error instanceof InputError) {
    const isStdin = file === 'standard input';
    const remedy =
      !isStdin && /pipe|device/.test(error.reason) ? ' Give "-" to read standard input.' : '';
    return wrongFile(file, `this ${error.reason}; a patch file was expected.${remedy}`);
  }
  const { code, message } = error as NodeJS.ErrnoException;
  switch (code) {
    case 'ENOENT':
      return wrongFile(file, 'there is no such file. Check the name and the folder.');
    case 'ENOTDIR':
      return wrongFile(file, 'a part of this path is a file, not a folder.');
    case 'EACCES':
    case 'EPERM':
      return failedFile(file, 'no permission to read it.');
    default:
      return failedFile(file, `could not be read: ${message}`);
  }
}
