/** Why a file could not be written, in plain words. */

import { errorCode } from './inputs.ts';

/** A file could not be written. The message says what, where, why and what to do. */
export class OutputError extends Error {
  /** Where the file should have gone. */
  readonly path: string;
  readonly reason: string;
  readonly remedy: string;
  /** Whether another path would have done: what was asked is wrong, not the machine. */
  readonly byPath: boolean;

  constructor(path: string, reason: string, remedy: string, byPath: boolean, cause?: unknown) {
    super(`${path}: could not be written: ${reason}. ${remedy}`, { cause });
    this.name = 'OutputError';
    this.path = path;
    this.reason = reason;
    this.remedy = remedy;
    this.byPath = byPath;
  }
}

/** The file is not as it was read: another program has changed it, or made it, meanwhile. */
export class ChangedError extends OutputError {
  constructor(path: string, reason: string, remedy: string) {
    super(path, reason, remedy, true);
    this.name = 'ChangedError';
  }
}

const SPACE = 'Free some space, or write to another disk.';
const PLACE = 'Write to another place, or change its permissions.';
const BY_PATH: ReadonlySet<string> = new Set([
  'ENOENT',
  'ENOTDIR',
  'EISDIR',
  'ENAMETOOLONG',
  'ELOOP',
]);
/** By error code of the operating system (POSIX.1, errno.h). */
const REASONS: { readonly [code: string]: readonly [reason: string, remedy: string] } = {
  ENOENT: ['its folder does not exist', 'Make the folder first, or correct the path.'],
  ENOTDIR: ['a part of its path is a file, not a folder', 'Correct the path.'],
  EISDIR: ['it is a folder', 'Give the file another name.'],
  ENAMETOOLONG: ['its name is too long', 'Give it a shorter name.'],
  ELOOP: ['its links lead round in a circle', 'Correct the links, or write to another place.'],
  EACCES: ['permission is denied', PLACE],
  EPERM: ['permission is denied', PLACE],
  EROFS: ['the disk is read-only', 'Write to another place.'],
  ENOSPC: ['the disk is full', SPACE],
  EDQUOT: ['your share of the disk is used up', SPACE],
  EFBIG: ['the disk takes no file as long as this', 'Write to another disk, or a shorter file.'],
  EMFILE: ['too many files are open', 'Write fewer files at once.'],
  EIO: ['the disk failed', 'Check the disk, or write to another.'],
};

/** Says in plain words why the system would not write `path`. */
export function outputError(path: string, error: unknown): OutputError {
  if (error instanceof OutputError) return error;
  const code = errorCode(error) ?? '';
  const [reason, remedy] = REASONS[code] ?? [
    error instanceof Error ? error.message : String(error),
    'Write to another place.',
  ];
  return new OutputError(path, reason, remedy, BY_PATH.has(code), error);
}
