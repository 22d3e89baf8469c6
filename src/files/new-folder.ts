/** Folders that are made for a file, and go with it if it does not come into being. */

import { accessSync, constants, existsSync, mkdirSync, rmdirSync, statSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { errorCode } from './inputs.ts';

/** What {@link makeFolder} has made: a folder, and the highest one above it that was not there either. */
export interface NewFolder {
  readonly folder: string;
  readonly highest: string;
}

/**
 * Makes a folder, and those above it, one by one: Node's own way of making all of them never ends in folders
 * of the system such as `/proc`.
 * @returns what was not there before, if anything.
 * @throws the system's error.
 */
export function makeFolder(folder: string): NewFolder | undefined {
  const missing: string[] = [];
  for (let at = resolve(folder); !existsSync(at); at = dirname(at)) missing.unshift(at);
  const made = { folder: resolve(folder), highest: missing[0] ?? '' };
  try {
    for (const at of missing) makeOne(at);
  } catch (error) {
    removeFolder(made);
    throw error;
  }
  return missing.length === 0 ? undefined : made;
}

function makeOne(folder: string): void {
  try {
    mkdirSync(folder);
  } catch (error) {
    // Another run may have been quicker.
    if (errorCode(error) !== 'EEXIST') throw error;
  }
}

/** Removes what was made, as far as nothing has come into it. */
export function removeFolder(made: NewFolder | undefined): void {
  if (made === undefined) return;
  for (let at = made.folder; at.startsWith(made.highest); at = dirname(at)) {
    try {
      rmdirSync(at);
    } catch {
      // Something is in it, it was never made, or another run was quicker: the next one tells.
    }
  }
}

/**
 * Looks whether a folder is there or could be made, without making it.
 * @throws the system's error, such as ENOTDIR and EACCES, if it could not.
 */
export function requireFolderPossible(folder: string): void {
  for (let at = resolve(folder); ; at = dirname(at)) {
    const there = statSync(at, { throwIfNoEntry: false });
    if (there === undefined && at !== dirname(at)) continue;
    if (there?.isDirectory() === false)
      throw Object.assign(new Error(`not a folder: ${at}`), { code: 'ENOTDIR' });
    accessSync(at, constants.W_OK);
    return;
  }
}
