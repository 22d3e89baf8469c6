/**
 * The files that a command is to write: checked before it begins to work, so that a wrong name costs
 * nothing. A file that the command has read, one that Forehear did not make, two outputs that are one
 * file, and an ending of another format are refused; `-` is standard output.
 */

import { createReadStream, existsSync } from 'node:fs';
import { dirname, extname, join } from 'node:path';
import { Option } from 'commander';
import { errorCode, fileId, truePath } from '../files/inputs.ts';
import { type Maker, type Marking, makerOf, markedMidi, markedText } from '../files/made-here.ts';
import { requireFolderPossible } from '../files/new-folder.ts';
import { OutputError, outputError } from '../files/output-error.ts';
import { outputPlace } from '../files/output-place.ts';
import { TemporaryFolder } from '../files/temporary-folder.ts';
import { writeWhole } from '../files/whole-file.ts';
import { makerOfWav } from '../wav/wav-maker.ts';
import { wrongFile, wrongRequest } from './exit.ts';
import { print } from './standard-output.ts';

/** What a file holds, and how its name may end. */
export interface Format {
  readonly name: string;
  readonly endings: readonly string[];
  /** How a later run knows a file that one has made; the commands themselves ask where nothing tells. */
  readonly marking?: Marking | 'wav';
}

export const WAV: Format = { name: 'a WAV file', endings: ['.wav', '.wave'], marking: 'wav' };
export const HTML: Format = {
  name: 'an HTML file',
  endings: ['.html', '.htm'],
  marking: 'comment',
};
export const MARKDOWN: Format = {
  name: 'a Markdown file',
  endings: ['.md', '.markdown'],
  marking: 'comment',
};
export const SVG: Format = { name: 'an SVG file', endings: ['.svg'], marking: 'comment' };
export const MIDI: Format = { name: 'a MIDI file', endings: ['.mid', '.midi'], marking: 'midi' };
export const PATCH: Format = { name: 'a patch', endings: ['.yaml', '.yml'] };

/** An option that names a file to write, or a folder for several. Tests find all of them by this class. */
export class OutputOption extends Option {}

export interface WantedFile {
  /** As it is given, such as `--svg`. */
  readonly option: string;
  readonly path: string;
  readonly format: Format;
  /** Whether it may be a file that was read, to be changed. */
  readonly isInput?: boolean;
  /** Whether its folder is made if it does not exist. */
  readonly makesFolder?: boolean;
}

/** Says with what other things a file is written over that Forehear did not make. */
export function forceOption(): Option {
  return new Option('--force', 'write over a file that Forehear did not make, or that was changed');
}

/** A place to write a file to. */
export interface Output {
  /** Where to write; for standard output, a temporary file that `deliver` passes on. */
  readonly path: string;
  readonly isStandard: boolean;
  /** Writes all of it, with the mark by which a later run knows it. */
  write(content: string | Uint8Array): void;
  /** To be called once the file is written. */
  deliver(): Promise<void>;
}

/**
 * Checks all files that a command is to write.
 * @param force whether files may be written over that Forehear did not make.
 * @returns them in the same order.
 * @throws Stop, or OutputError, if one of them cannot be written.
 */
export function planOutputs(
  wanted: readonly WantedFile[],
  force: boolean | undefined = false,
): readonly Output[] {
  const taken = new Map<string, WantedFile>();
  for (const one of wanted) requireName(one);
  for (const one of wanted) {
    for (const key of one.path === '-' ? ['-'] : keysOf(one)) {
      const other = taken.get(key);
      if (other !== undefined)
        throw wrongRequest(
          `${one.option} ${one.path}: this is the same ${key === '-' ? 'place' : 'file'} as ${other.option} ${other.path}. Give each a name of its own.`,
        );
      taken.set(key, one);
    }
  }
  if (!force) for (const one of wanted) requireOwn(one);
  return wanted.map((one) => (one.path === '-' ? standardOutput(one.format) : fileOutput(one)));
}

/**
 * Checks a folder that a command is to fill; it is made with its files.
 * @throws Stop, or OutputError, if it cannot be a folder.
 */
export function requireFolder(option: string, path: string): void {
  if (path === '') throw wrongRequest(`${option}: the name of a folder is missing.`);
  if (path === '-')
    throw wrongRequest(
      `${option} -: several files are written, and standard output takes one. Give a folder.`,
    );
  requireFolderAt(path);
}

/** @throws Stop if a file is in the way of a folder; OutputError if the machine will not make it. */
function requireFolderAt(folder: string): void {
  try {
    requireFolderPossible(folder);
  } catch (error) {
    if (errorCode(error) !== 'ENOTDIR') throw outputError(folder, error);
    throw wrongRequest(
      `${folder}: this is a file, so nothing can be put in it. Choose another place.`,
    );
  }
}

/** What no two outputs may share; the case of letters does not count on every disk. */
function keysOf({ path, isInput = false, makesFolder = false }: WantedFile): readonly string[] {
  if (makesFolder) requireFolderAt(dirname(path));
  try {
    const { path: place } = outputPlace(path, { isInput });
    if (!makesFolder && !existsSync(dirname(place)))
      throw new OutputError(
        path,
        'its folder does not exist',
        'Make the folder first, or correct the path.',
        true,
      );
    const id = fileId(path);
    const name = truePath(place).normalize('NFC').toLowerCase();
    return id === undefined ? [name] : [name, id];
  } catch (error) {
    throw outputError(path, error);
  }
}

/** @throws Stop for a file that is another's, or that someone has worked on since it was made. */
function requireOwn({ path, format: { marking }, isInput = false }: WantedFile): void {
  if (path === '-' || isInput || marking === undefined || !existsSync(path)) return;
  let maker: Maker;
  try {
    maker = marking === 'wav' ? makerOfWav(path) : makerOf(path, marking);
  } catch (error) {
    throw outputError(path, error);
  }
  if (maker === 'here') return;
  throw wrongFile(
    path,
    `${maker === 'changed' ? 'this file was changed since Forehear made it' : 'a file of this name is there, which Forehear did not make'}; it was left alone. Give another name, or write over it with --force.`,
  );
}

function requireName({ option, path, format }: WantedFile): void {
  const { name, endings } = format;
  if (path === '') throw wrongRequest(`${option}: the name of ${name} is missing.`);
  if (path === '-') {
    if (!process.stdout.isTTY) return;
    throw wrongRequest(
      `${option} -: standard output is a terminal, and ${name} cannot be shown there. Send it to a file or a program, or give a name.`,
    );
  }
  const ending = extname(path).toLowerCase();
  if (ending === '' || endings.includes(ending)) return;
  throw wrongRequest(
    `${option} ${path}: this is ${name}, whose name ends in ${endings[0]}; ${ending} is another format.`,
  );
}

function fileOutput({ path, format, makesFolder = false }: WantedFile): Output {
  const write = writer(path, format, makesFolder);
  return { path, isStandard: false, write, deliver: async () => {} };
}

/** A temporary file in the system's folder for these, since a format may need its head written last. */
function standardOutput(format: Format): Output {
  const folder = new TemporaryFolder();
  const path = join(folder.path, 'output');
  const deliver = async (): Promise<void> => {
    for await (const piece of createReadStream(path)) await print([piece as Uint8Array]);
    folder.abandon();
  };
  return { path, isStandard: true, write: writer(path, format), deliver };
}

function writer(path: string, { marking }: Format, makesFolder = false): Output['write'] {
  const options = { makesFolder };
  return (content) => {
    if (typeof content !== 'string')
      return writeWhole(path, marking === 'midi' ? markedMidi(content) : content, options);
    const text = marking === 'comment' ? markedText(content) : content;
    writeWhole(path, new TextEncoder().encode(text), options);
  };
}
