/**
 * Files that belong together, such as a comparison's clips, chart and page: the whole old set or the
 * whole new one is there, never a mixture.
 *
 * They are made in a folder of their own beside their place. When all are there, what is to be done is
 * written down in it (the journal), and then done without a pause: each file is put in its place, and
 * files of an earlier set that this one does not have are removed. If the program is killed meanwhile,
 * the next run finds the journal and does the rest. A folder that is not there yet comes into being
 * whole, by one rename, unless another run has made it meanwhile.
 *
 * What belongs to a set is kept in a hidden list beside it, with sizes and times. A file that is not
 * in the list, or is not as it was written, is another's: it is neither removed nor written over.
 *
 * Deviation: between a kill that nothing can catch, within the milliseconds of putting in place, and
 * the next run, files of both sets can be seen.
 */

import {
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { errorCode, inputAt } from './inputs.ts';
import { makeFolder, type NewFolder, removeFolder } from './new-folder.ts';
import { OutputError, outputError } from './output-error.ts';
import { outputPlace } from './output-place.ts';
import { freePartName, leftovers, removeLeftovers, takePartName } from './part-name.ts';
import { putInPlace } from './put-in-place.ts';
import { begin, end } from './unfinished.ts';

export interface SetFile {
  readonly name: string;
  /** Whether the person has named it: it may then be written over, whoever has made it. */
  readonly isNamed?: boolean;
  /** Whether a later set without it leaves it where it is. */
  readonly stays?: boolean;
}

/** How a file was left. */
interface Left {
  readonly size: number;
  readonly mtimeMs: number;
  readonly stays?: boolean;
}

type FileList = { readonly [name: string]: Left };

/** What is still to be done. */
interface Journal {
  readonly files: readonly MadeFile[];
  readonly keepsOthers: boolean;
}

interface MadeFile extends SetFile {
  readonly left: Left;
  /** What was at its place. */
  readonly before: Left | null;
}

const JOURNAL = 'journal.json';
/** Files are in a folder of their own, so that none can have the journal's name. */
const FILES = 'files';
/** A copied disk may keep times to two seconds only, ms. */
const CLOSE = 2000;

export class FileSet {
  /** Where the files are made, under the names that they are to have. */
  readonly stage: string;
  private readonly folder: string;
  private readonly name: string;
  private readonly root: string;
  /** What was made for the folder to lie in. */
  private above: NewFolder | undefined;
  private isOpen = true;

  /**
   * Opens a set. What a killed run has begun is ended first: done if all was ready, removed otherwise.
   * @param folder where the files go; the folder that it lies in is made if it is not there.
   * @param name tells this set from others in the folder.
   * @throws OutputError if that cannot be.
   */
  constructor(folder: string, name: string) {
    this.folder = folder;
    this.name = name;
    this.root = takePartName(placeOf(folder, name, existsSync(folder)));
    this.stage = join(this.root, FILES);
    // Before there is anything to be removed.
    begin(this);
    try {
      recover(folder, name);
      this.above = makeFolder(dirname(this.root));
      mkdirSync(this.root);
      mkdirSync(this.stage);
    } catch (error) {
      this.abandon();
      throw outputError(folder, error);
    }
  }

  /**
   * Says beforehand whether files could be put there.
   * @throws OutputError as {@link commit} does.
   */
  plan(files: readonly SetFile[]): void {
    try {
      const list = readList(this.folder, this.name);
      for (const file of files) requirePlace(this.folder, file, list);
    } catch (error) {
      throw this.told(error);
    }
  }

  /**
   * Puts the files in their places. All have been made in the stage.
   * @throws OutputError if one cannot be put there; the set that was there before is then still whole
   *   unless the disk fails midway.
   * @param options whether files of earlier sets stay that this one does not have.
   */
  commit(files: readonly SetFile[], { keepsOthers = false } = {}): void {
    try {
      this.plan(files);
      if (!existsSync(this.folder) && this.becomesFolder(files)) return;
      const journal: Journal = { files: this.made(files), keepsOthers };
      writeText(join(this.root, JOURNAL), journal);
      carryOut(this.root, this.folder, this.name);
    } catch (error) {
      throw this.told(error);
    } finally {
      this.abandon();
    }
  }

  /** Removes what was made; does nothing to a set that is in its place. */
  abandon(): void {
    if (!this.isOpen) return;
    this.isOpen = false;
    removeStage(this.root);
    removeFolder(this.above);
    freePartName(this.root);
    end(this);
  }

  /** Has the stage become the folder; false if another run has made that meanwhile. */
  private becomesFolder(files: readonly SetFile[]): boolean {
    writeList(this.stage, this.name, this.made(files), []);
    try {
      renameSync(this.stage, this.folder);
      return true;
    } catch (error) {
      if (!existsSync(this.folder)) throw error;
    }
    this.plan(files);
    return false;
  }

  private made(files: readonly SetFile[]): readonly MadeFile[] {
    return files.map((file) => {
      const left = leftOf(join(this.stage, file.name));
      if (left === undefined) throw new Error(`${file.name} was not made`);
      return { ...file, left, before: leftOf(join(this.folder, file.name)) ?? null };
    });
  }

  /** An error about a file in the making, as one about its place; other errors as they are. */
  told(error: unknown): unknown {
    if (!(error instanceof OutputError))
      return /^E[A-Z]+$/.test(errorCode(error) ?? '') ? outputError(this.folder, error) : error;
    const { path, reason, remedy, byPath } = error;
    if (!path.startsWith(this.stage)) return error;
    return new OutputError(
      join(this.folder, path.slice(this.stage.length)),
      reason,
      remedy,
      byPath,
      error,
    );
  }
}

/** In the folder, or beside one that is not there yet. */
function placeOf(folder: string, name: string, isThere: boolean): string {
  return isThere ? join(folder, `.${name}`) : folder;
}

function recover(folder: string, name: string): void {
  const isThere = existsSync(folder);
  const beside = leftovers(folder);
  const inside = isThere ? leftovers(placeOf(folder, name, true)) : [];
  for (const root of [...beside, ...inside]) {
    try {
      if (isThere && existsSync(join(root, JOURNAL))) carryOut(root, folder, name);
    } catch {
      // A place that takes no file any more must not stop the runs that come after.
    }
    removeStage(root);
  }
}

/** Renamed first, so that threads which still write there come to nothing. */
function removeStage(root: string): void {
  const gone = takePartName(root.slice(0, root.lastIndexOf('.forehear-')));
  try {
    renameSync(root, gone);
  } catch {
    // Another run may have been quicker.
  }
  for (const folder of [root, gone]) rmSync(folder, { recursive: true, force: true });
  freePartName(gone);
}

/** Does what the journal says and is not done yet. */
function carryOut(root: string, folder: string, name: string): void {
  const journal = join(root, JOURNAL);
  const { files, keepsOthers } = JSON.parse(readFileSync(journal, 'utf8')) as Journal;
  const old = readList(folder, name);
  for (const file of files) {
    const made = join(root, FILES, basename(file.name));
    const place = join(folder, basename(file.name));
    if (!existsSync(made)) continue;
    const { path, there } = outputPlace(place);
    // Changed since the journal was written: by whoever came between the kill and this run.
    if (!isAsLeft(place, file.before ?? undefined)) continue;
    putInPlace(made, path, there);
  }
  const now = new Set(files.map((file) => file.name));
  const others = Object.entries(old).filter(
    ([each, left]) => !now.has(each) && isAsLeft(join(folder, basename(each)), left),
  );
  const isKept = ([each, left]: readonly [string, Left]): boolean =>
    keepsOthers || left.stays === true || inputAt(join(folder, each)) !== undefined;
  for (const other of others)
    if (!isKept(other)) rmSync(join(folder, basename(other[0])), { force: true });
  writeList(folder, name, files, others.filter(isKept));
  rmSync(journal);
}

/** @throws OutputError for what is no place for an output, or another's file. */
function requirePlace(folder: string, { name, isNamed }: SetFile, list: FileList): void {
  const path = join(folder, name);
  try {
    const { there } = outputPlace(path);
    if (there === undefined || isNamed) return;
  } catch (error) {
    throw outputError(path, error);
  }
  const left = Object.hasOwn(list, name) ? list[name] : undefined;
  if (left !== undefined && isAsLeft(path, left)) return;
  const other = left === undefined ? setWith(folder, name) : undefined;
  const what =
    left !== undefined
      ? 'it was changed since an earlier run made it'
      : other !== undefined
        ? `an earlier run made it for another set of files, ${other}`
        : 'a file of this name is there, which no earlier run has made';
  throw new OutputError(
    path,
    `${what}; it was left alone`,
    'Move it away, or write to another place.',
    true,
  );
}

/** The name of a set in a folder that a file belongs to, as it was left. */
function setWith(folder: string, file: string): string | undefined {
  return readdirSync(folder)
    .flatMap((list) => /^\.(.+)\.forehear\.json$/.exec(list)?.[1] ?? [])
    .find((set) => {
      const list = readList(folder, set);
      return Object.hasOwn(list, file) && isAsLeft(join(folder, file), list[file]);
    });
}

function isAsLeft(path: string, left: Left | undefined): boolean {
  const now = leftOf(path);
  if (now === undefined || left === undefined) return now === left;
  return now.size === left.size && Math.abs(now.mtimeMs - left.mtimeMs) <= CLOSE;
}

function leftOf(path: string): Left | undefined {
  const stats = statSync(path, { throwIfNoEntry: false });
  return stats?.isFile() ? { size: stats.size, mtimeMs: stats.mtimeMs } : undefined;
}

function listPath(folder: string, name: string): string {
  return join(folder, `.${name}.forehear.json`);
}

/** An unreadable list counts as missing: then nothing is known to be ours. */
function readList(folder: string, name: string): FileList {
  try {
    const value = JSON.parse(readFileSync(listPath(folder, name), 'utf8')) as { files?: FileList };
    return typeof value.files === 'object' && value.files !== null ? value.files : {};
  } catch {
    return {};
  }
}

function writeList(
  folder: string,
  name: string,
  files: readonly MadeFile[],
  others: readonly (readonly [string, Left])[],
): void {
  const entries = files.flatMap(({ name: each, left, isNamed, stays }): [string, Left][] =>
    isNamed ? [] : [[each, { ...left, ...(stays ? { stays: true } : {}) }]],
  );
  const about = 'What Forehear has made here, so that a later run removes nothing else.';
  writeText(listPath(folder, name), { about, files: Object.fromEntries([...others, ...entries]) });
}

/** Whole or not at all. */
function writeText(path: string, value: object): void {
  removeLeftovers(path);
  const part = takePartName(path);
  try {
    writeFileSync(part, `${JSON.stringify(value)}\n`);
    renameSync(part, path);
  } catch (error) {
    rmSync(part, { force: true });
    throw error;
  } finally {
    freePartName(part);
  }
}
