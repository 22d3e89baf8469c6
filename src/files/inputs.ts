/**
 * The files that this run has read, so that no output is written over one of them by mistake. A file
 * is known by device and inode, which are the same by every name that it has: a link, a hard link,
 * other letters' case where the file system does not tell them apart. Each is looked at when an output
 * is planned, not when it is read: an inode that an editor has let go may be another file's by then.
 */

import {
  closeSync,
  constants,
  fstatSync,
  openSync,
  readSync,
  realpathSync,
  type Stats,
  statSync,
} from 'node:fs';
import { relative, resolve } from 'node:path';

/** A file is not read. The reason is a clause that follows its name, such as "is a folder". */
export class InputError extends Error {
  readonly path: string;
  readonly reason: string;

  constructor(path: string, reason: string) {
    super(`${path}: ${reason}`);
    this.name = 'InputError';
    this.path = path;
    this.reason = reason;
  }
}

/** Name as it was given, by the full path. */
const named = new Map<string, string>();

const STDIN = 0;
/** Standard input may be a file as well. */
let hasReadStdin = false;

/**
 * Opens a file to read, and notes that this run reads it. A pipe or a device is never opened: it may
 * wait for ever, never end, or do something when it is opened.
 * @returns its descriptor, to be closed by the caller, and its size in bytes.
 * @throws InputError if it is not a plain file; the system's error if it cannot be opened.
 */
export function openInput(path: string): { readonly descriptor: number; readonly size: number } {
  requirePlain(path, statSync(path));
  // It may have become a pipe since then: opening that does not wait.
  const descriptor = openSync(path, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0));
  try {
    const stats = fstatSync(descriptor);
    requirePlain(path, stats);
    named.set(resolve(path), path);
    return { descriptor, size: stats.size };
  } catch (error) {
    closeSync(descriptor);
    throw error;
  }
}

/** Bytes that a text may have: many times as many as any patch, and read in no time. */
const MOST_TEXT_BYTES = 4 * 1024 * 1024;

/** How much of a file is read. */
export interface Most {
  readonly bytes: number;
  /** Why no more: a clause such as "no patch is". */
  readonly what: string;
}

const TEXT: Most = { bytes: MOST_TEXT_BYTES, what: 'no patch is' };

/**
 * Reads a whole file.
 * @param most how long it may be: as long as a text, unless given.
 * @throws InputError if it is not a plain file, or is longer; the system's error if it cannot be read.
 */
export function readInput(path: string, most: Most = TEXT): Uint8Array {
  const { descriptor } = openInput(path);
  try {
    return readAll(descriptor, path, most);
  } finally {
    closeSync(descriptor);
  }
}

/**
 * Reads standard input to its end. Nothing else runs meanwhile, so Ctrl-C ends the program unless a
 * command has begun to listen to it.
 * @throws as {@link readInput} does.
 */
export function readStdin(): Uint8Array {
  hasReadStdin = true;
  return readAll(STDIN, 'standard input', TEXT);
}

/** Reads to the end rather than to the size, which files of the system do not tell. */
function readAll(descriptor: number, name: string, { bytes, what }: Most): Uint8Array {
  const pieces: Uint8Array[] = [];
  let length = 0;
  for (;;) {
    const piece = new Uint8Array(PIECE);
    const got = readWaiting(descriptor, piece);
    if (got === 0) return Buffer.concat(pieces, length);
    pieces.push(piece.subarray(0, got));
    length += got;
    if (length > bytes)
      throw new InputError(name, `is longer than ${bytes / 1024 / 1024} MiB, which ${what}`);
  }
}

const PIECE = 65_536;
/** Between two looks at a terminal that another program has told not to wait, ms. */
const PATIENCE = 20;

function readWaiting(descriptor: number, piece: Uint8Array): number {
  for (;;) {
    try {
      return readSync(descriptor, piece);
    } catch (error) {
      if (errorCode(error) === 'EOF') return 0;
      if (errorCode(error) !== 'EAGAIN' || descriptor !== STDIN) throw error;
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, PATIENCE);
    }
  }
}

/** The name by which this run has read the file that `path` leads to; undefined if it has not. */
export function inputAt(path: string): string | undefined {
  const id = idOf(() => statSync(path, { bigint: true }));
  if (id === undefined) {
    const place = truePath(path);
    for (const [full, name] of named) if (truePath(full) === place) return name;
    return undefined;
  }
  if (hasReadStdin && idOf(() => fstatSync(STDIN, { bigint: true })) === id)
    return 'standard input';
  for (const [full, name] of named)
    if (idOf(() => statSync(full, { bigint: true })) === id) return name;
  return undefined;
}

/** What tells files apart, whatever their names; undefined where there is none. */
export function fileId(path: string): string | undefined {
  return idOf(() => statSync(path, { bigint: true }));
}

function idOf(
  look: () => { readonly dev: bigint; readonly ino: bigint; isFile(): boolean },
): string | undefined {
  try {
    const stats = look();
    return stats.isFile() ? `${stats.dev}:${stats.ino}` : undefined;
  } catch {
    return undefined;
  }
}

/** A path without links, for a file that need not be there. */
export function truePath(path: string): string {
  const full = resolve(path);
  // The nearest folder above it that is there, by its true name; what is below that is not there yet.
  for (let there = full; ; there = resolve(there, '..')) {
    try {
      return resolve(realpathSync(there), relative(there, full));
    } catch {
      if (resolve(there, '..') === there) return full;
    }
  }
}

function requirePlain(path: string, stats: Stats): void {
  if (stats.isFile()) return;
  throw new InputError(path, `is ${kindOf(stats)}`);
}

/** In words, with its article. */
export function kindOf(stats: Stats): string {
  if (stats.isDirectory()) return 'a folder';
  if (stats.isFIFO()) return 'a pipe';
  if (stats.isSocket()) return 'a socket';
  return stats.isFile() ? 'a file' : 'a device';
}

/** The code of a system's error, such as ENOENT; undefined for other errors. */
export function errorCode(error: unknown): string | undefined {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  return typeof code === 'string' ? code : undefined;
}
