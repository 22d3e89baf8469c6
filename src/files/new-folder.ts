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
 * @returns what was made, below what was there or another run has made meanwhile; undefined for nothing.
 * @throws the system's error.
 */
export function makeFolder(folder: string): NewFolder | undefined {
  const missing: string[] = [];
  for (let at = resolve(folder); !existsSync(at); at = dirname(at)) missing.unshift(at);
  let made: NewFolder | undefined;
  try {
    for (const at of missing)
      made = isMade(at) ? { folder: at, highest: made?.highest ?? at } : undefined;
  } catch (error) {
    removeFolder(made);
    throw error;
  }
  return made;
}

/** Makes one; false if another run was quicker, whose folder it then is. */
function isMade(folder: string): boolean {
  try {
    mkdirSync(folder);
    return true;
  } catch (error) {
    if (errorCode(error) !== 'EEXIST') throw error;
    return false;
  }
}

/** Removes what was made, as far as nothing has come into it. */
export function removeFolder(made: NewFolder | undefined): void {
  if (made === undefined) return;
  for (let at = made.folder; at.startsWith(made.highest); at = dirname(at)) {
    try {
      rmdirSync(at);
    } catch {
      // Something is in it, or another run was quicker: the next one tells.
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
