/**
 * A file that appears whole or not at all: written beside its place, then renamed into it. What was
 * there before stays until then.
 *
 * Deviation: the file is not forced onto the disk before the rename (it would cost more than the
 * render), so a power failure within seconds can still lose it; a failure of the program cannot.
 */

import {
  closeSync,
  openSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';

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

export class PartFile {
  private readonly path: string;
  private readonly place: string;
  private readonly part: string;
  private readonly handle: number;
  private isOpen = true;

  /**
   * Opens a file beside `path`.
   * @throws OutputError if that cannot be, or if `path` is something other than a plain file.
   */
  constructor(path: string) {
    this.path = path;
    try {
      this.place = finalPlace(path);
      [this.part, this.handle] = openBeside(this.place);
    } catch (error) {
      throw outputError(path, error);
    }
  }

  /**
   * Writes all of `bytes` behind what is there, or at `position` bytes from the start.
   * @throws OutputError; the file is then gone.
   */
  write(bytes: Uint8Array, position: number | null = null): void {
    this.attempt(() => {
      // The system may take less than it is given.
      for (let done = 0; done < bytes.length; ) {
        const at = position === null ? null : position + done;
        done += writeSync(this.handle, bytes, done, bytes.length - done, at);
      }
    });
  }

  /**
   * Puts the finished file in its place.
   * @throws OutputError; the file is then gone, and an older one still there.
   */
  finish(): void {
    this.attempt(() => {
      this.isOpen = false;
      closeSync(this.handle);
      renameSync(this.part, this.place);
    });
  }

  /** Removes the unfinished file. Does nothing to a finished one. */
  abandon(): void {
    if (this.isOpen) this.discard();
  }

  /** Throws Error if the file is finished or abandoned, which is the caller's mistake. */
  requireOpen(): void {
    if (!this.isOpen) throw new Error(`${this.path} is already finished or abandoned`);
  }

  private attempt(action: () => void): void {
    this.requireOpen();
    try {
      action();
    } catch (error) {
      this.discard();
      throw outputError(this.path, error);
    }
  }

  private discard(): void {
    if (this.isOpen) closeSync(this.handle);
    this.isOpen = false;
    rmSync(this.part, { force: true });
  }
}

/** The place a symbolic link points to, so that the link survives; otherwise the path itself. */
function finalPlace(path: string): string {
  const there = statSync(path, { throwIfNoEntry: false });
  if (there === undefined) return path;
  if (there.isDirectory()) {
    throw new OutputError(path, 'it is a folder', 'Give the file another name.', true);
  }
  // A rename would replace a device or a pipe by a file.
  if (!there.isFile()) {
    throw new OutputError(path, 'it is not a plain file', 'Give the path of a file.', true);
  }
  return realpathSync(path);
}

/** Opens a new file beside `place`; a name that a killed run left behind is passed over. */
function openBeside(place: string): [part: string, handle: number] {
  for (let n = 0; ; n++) {
    const part = `${place}.${process.pid}-${n}.part`;
    try {
      return [part, openSync(part, 'wx')];
    } catch (error) {
      if (codeOf(error) !== 'EEXIST') throw error;
    }
  }
}

const SPACE = 'Free some space, or write to another disk.';
const PLACE = 'Write to another place, or change its permissions.';
const BY_PATH: ReadonlySet<string> = new Set(['ENOENT', 'ENOTDIR', 'EISDIR', 'ENAMETOOLONG']);
/** By error code of the operating system (POSIX.1, errno.h). */
const REASONS: { readonly [code: string]: readonly [reason: string, remedy: string] } = {
  ENOENT: ['its folder does not exist', 'Make the folder first, or correct the path.'],
  ENOTDIR: ['a part of its path is a file, not a folder', 'Correct the path.'],
  EISDIR: ['it is a folder', 'Give the file another name.'],
  ENAMETOOLONG: ['its name is too long', 'Give it a shorter name.'],
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
  const code = codeOf(error);
  const [reason, remedy] = REASONS[code] ?? [
    error instanceof Error ? error.message : String(error),
    'Write to another place.',
  ];
  return new OutputError(path, reason, remedy, BY_PATH.has(code), error);
}

function codeOf(error: unknown): string {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  return typeof code === 'string' ? code : '';
}

/**
 * Writes a file of bytes that are all there.
 * @throws OutputError if that cannot be; an older file is then still there.
 */
export function writeWhole(path: string, bytes: Uint8Array): void {
  const file = new PartFile(path);
  file.write(bytes);
  file.finish();
}
