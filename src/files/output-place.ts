/** Whether a file may be written at a path, and where that really is. Every output passes here. */

import { accessSync, constants, lstatSync, realpathSync, type Stats, statSync } from 'node:fs';
import { errorCode, inputAt } from './inputs.ts';
import { ChangedError, OutputError } from './output-error.ts';

export interface PlaceOptions {
  /** Whether it may be a file that this run has read: what was read is to be changed. */
  readonly isInput?: boolean;
  /** Whether there must be nothing yet. */
  readonly isNew?: boolean;
}

export interface OutputPlace {
  /** Where the file goes: at the end of a symbolic link, so that the link survives. */
  readonly path: string;
  /** The file that is there. */
  readonly there?: Stats;
}

/**
 * Finds the place of an output.
 * @throws OutputError for a file that was read, one that is read-only, one that is there and must not
 *   be, a link to nowhere, and what is no plain file; the system's error if it cannot be looked at.
 */
export function outputPlace(
  path: string,
  { isInput = false, isNew = false }: PlaceOptions = {},
): OutputPlace {
  const entry = lstatSync(path, { throwIfNoEntry: false });
  if (entry === undefined) {
    // A file that was read and is gone since then is still to be left alone.
    if (!isInput) requireNoInput(path);
    return { path };
  }
  if (isNew) throw thereAlready(path, entry.isDirectory());
  const there = statOf(path);
  if (there === undefined)
    throw new OutputError(
      path,
      'it is a link to a file that is not there',
      'Remove the link, or make what it leads to.',
      true,
    );
  if (there.isDirectory())
    throw new OutputError(path, 'it is a folder', 'Give the file another name.', true);
  // A rename would replace a device or a pipe by a file.
  if (!there.isFile())
    throw new OutputError(path, 'it is not a plain file', 'Give the path of a file.', true);
  if (!isInput) requireNoInput(path);
  requireWritable(path, there);
  return { path: entry.isSymbolicLink() ? realpathSync(path) : path, there };
}

/** The refusal of a file that is there already. */
export function thereAlready(path: string, isFolder = false): OutputError {
  const what = isFolder ? 'it is a folder' : 'this file exists; it was left alone';
  return new ChangedError(path, what, 'Give another name.');
}

function statOf(path: string): Stats | undefined {
  try {
    return statSync(path);
  } catch (error) {
    if (errorCode(error) === 'ENOENT') return undefined;
    throw error;
  }
}

function requireNoInput(path: string): void {
  const name = inputAt(path);
  if (name === undefined) return;
  const what = name === path ? 'it was read by this command' : `it is ${name}, which was read`;
  throw new OutputError(path, `${what}, and would be lost`, 'Give the output another name.', true);
}

function requireWritable(path: string, there: Stats): void {
  // An administrator may write everything; the mode says what was meant.
  if ((there.mode & 0o222) !== 0) {
    try {
      accessSync(path, constants.W_OK);
      return;
    } catch {
      // Told below.
    }
  }
  throw new OutputError(
    path,
    'it is read-only',
    'Make it writable first, or give another name.',
    true,
  );
}
