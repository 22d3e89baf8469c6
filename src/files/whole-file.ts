/**
 * A file that appears whole or not at all: written beside its place, then put into it. What was there
 * before stays until then.
 *
 * Deviation: the file is not forced onto the disk before the rename (it would cost more than the
 * render), so a power failure within seconds can still lose it; a failure of the program cannot.
 */

import { closeSync, openSync, readFileSync, rmSync, writeSync } from 'node:fs';
import { dirname } from 'node:path';
import { makeFolder, type NewFolder, removeFolder } from './new-folder.ts';
import { ChangedError, type OutputError, outputError } from './output-error.ts';
import { type OutputPlace, outputPlace } from './output-place.ts';
import { freePartName, removeLeftovers, takePartName } from './part-name.ts';
import { putInNewPlace, putInPlace } from './put-in-place.ts';
import { begin, end } from './unfinished.ts';

export interface PartOptions {
  /** What the file held when it was read: it is to be changed, if it still holds that. */
  readonly before?: Uint8Array;
  /** Whether it may be a file that this run has read; so it is with `before`. */
  readonly isInput?: boolean;
  /** Whether there must be no such file yet. */
  readonly isNew?: boolean;
  /** Whether its folder is made if it is not there. */
  readonly makesFolder?: boolean;
}

export class PartFile {
  private readonly path: string;
  private readonly options: PartOptions;
  private readonly part: string;
  private readonly handle: number;
  private folder: NewFolder | undefined;
  private isOpen = true;
  private isComplete = false;

  /**
   * Opens a file beside `path`. What killed runs have left there of theirs is removed.
   * @throws OutputError if that cannot be, or `path` is no place for an output.
   */
  constructor(path: string, options: PartOptions = {}) {
    this.path = path;
    this.options = options;
    // Before there is anything to be removed.
    begin(this);
    try {
      removeLeftovers(path);
      const place = this.place();
      if (place.path !== path) removeLeftovers(place.path);
      if (options.makesFolder) this.folder = makeFolder(dirname(place.path));
      this.part = takePartName(place.path);
      // What others may not read they may not read of the new file either.
      this.handle = openSync(this.part, 'wx', place.there && (place.there.mode & 0o777) | 0o600);
    } catch (error) {
      removeFolder(this.folder);
      end(this);
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
   * Makes sure that the file can be put in its place, which is then soon done: what several files
   * have to do before the first of them is put there.
   * @throws OutputError; the file is then gone.
   */
  complete(): void {
    this.attempt(() => {
      if (!this.isComplete) {
        this.isComplete = true;
        closeSync(this.handle);
      }
      const { path } = this.place();
      const { before } = this.options;
      if (before !== undefined) requireUnchanged(path, before);
    });
  }

  /**
   * Puts the finished file in its place.
   * @throws OutputError; the file is then gone, and an older one still there.
   */
  finish(): void {
    this.complete();
    this.attempt(() => {
      const { path, there } = this.place();
      if (this.options.isNew) putInNewPlace(this.part, path);
      else putInPlace(this.part, path, there);
      this.isOpen = false;
      this.forget();
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

  private place(): OutputPlace {
    const { before, isInput = before !== undefined, isNew = false } = this.options;
    return outputPlace(this.path, { isInput, isNew });
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
    this.isOpen = false;
    if (!this.isComplete) closeSync(this.handle);
    rmSync(this.part, { force: true });
    removeFolder(this.folder);
    this.forget();
  }

  private forget(): void {
    freePartName(this.part);
    end(this);
  }
}

/** @throws ChangedError unless the file holds these bytes. */
function requireUnchanged(path: string, before: Uint8Array): void {
  let now: Uint8Array;
  try {
    now = readFileSync(path);
  } catch {
    throw changed(path, 'it is not there any more');
  }
  if (Buffer.compare(now, before) !== 0) throw changed(path, 'it has changed since it was read');
}

function changed(path: string, reason: string): OutputError {
  return new ChangedError(
    path,
    reason,
    'It was left as it is; do this again with what it holds now.',
  );
}

/**
 * Writes a file of bytes that are all there.
 * @throws OutputError if that cannot be; an older file is then still there.
 */
export function writeWhole(path: string, bytes: Uint8Array, options: PartOptions = {}): void {
  const file = new PartFile(path, options);
  file.write(bytes);
  file.finish();
}

/** A text to be changed. */
export interface Replacement {
  readonly path: string;
  /** What the file held when it was read. */
  readonly before: string | Uint8Array;
  readonly after: string;
}

/**
 * Changes texts that were read: every file is written, and found unchanged, before the first is put
 * in its place.
 * @throws ChangedError if one holds something else by now; OutputError if one cannot be written.
 */
export function replaceTexts(texts: readonly Replacement[]): void {
  const files: PartFile[] = [];
  const encoder = new TextEncoder();
  try {
    for (const { path, before, after } of texts) {
      const known = typeof before === 'string' ? encoder.encode(before) : before;
      const file = new PartFile(path, { before: known });
      files.push(file);
      file.write(encoder.encode(after));
    }
    for (const file of files) file.complete();
    for (const file of files) file.finish();
  } catch (error) {
    for (const file of files) file.abandon();
    throw error;
  }
}
