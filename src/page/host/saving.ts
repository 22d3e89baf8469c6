/**
 * Writes the texts as edited in the page back to the disk: the files that were read, or one new
 * file beside the patch. Never anything else, and never over a file that has changed meanwhile unless told to;
 * the overwritten contents are then kept beside it as a new file.
 */

import { basename, dirname, extname, join, resolve } from 'node:path';
import { readInput } from '../../files/inputs.ts';
import { ChangedError, OutputError } from '../../files/output-error.ts';
import { type Replacement, replaceTexts, writeWhole } from '../../files/whole-file.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import type { SaveAnswer, SaveRequest } from '../protocol.ts';
import { isTexts } from './files.ts';

/** The outcome of a request. */
export type SaveOutcome =
  | {
      readonly type: 'saved';
      readonly files: readonly string[];
      readonly kept?: readonly string[];
    }
  | Exclude<SaveAnswer, { type: 'saved' }>;

/** Reads a request; undefined if the value is not a request. */
export function saveRequest(value: unknown): SaveRequest | undefined {
  if (typeof value !== 'object' || value === null) return undefined;
  const { texts, before, as, overwrite } = value as Record<string, unknown>;
  if (!isTexts(texts) || !isTexts(before) || Object.keys(texts).length === 0) return undefined;
  if (as !== undefined && typeof as !== 'string') return undefined;
  return { texts, before, ...(as !== undefined && { as }), overwrite: overwrite === true };
}

/**
 * Does what a request asks.
 * @param files what was read, whose names are the only ones that may be written.
 */
export function save(request: SaveRequest, files: PatchTexts): SaveOutcome {
  try {
    const { texts, as } = request;
    const names = Object.keys(texts);
    const strange = names.find((name) => !Object.hasOwn(files.texts, name));
    if (strange !== undefined)
      return refused(`${strange} is not a file of this patch, so it is not written.`);
    if (as !== undefined && as !== basename(files.main)) return saveNew(request, files, as);
    if (names.includes('-'))
      return refused(
        'The patch came from standard input, which has no file: save it as a new one.',
      );
    const there = new Map(names.map((name) => [name, bytesOf(name)]));
    const conflict = request.overwrite === true ? undefined : conflictOf(request, there);
    return conflict ?? writeAll(request, there);
  } catch (error) {
    if (!(error instanceof OutputError)) throw error;
    return refused(error.message);
  }
}

function refused(message: string): SaveOutcome {
  return { type: 'refused', message };
}

/** What files hold now; undefined for a file that is missing or cannot be read. */
type There = ReadonlyMap<string, Uint8Array | undefined>;

/** Looks at every file before any is written. */
function conflictOf({ texts, before }: SaveRequest, there: There): SaveOutcome | undefined {
  for (const file of Object.keys(texts)) {
    const bytes = there.get(file);
    const known = Object.hasOwn(before, file) ? before[file] : undefined;
    if (bytes !== undefined && known !== undefined && holds(bytes, known)) continue;
    const what =
      bytes === undefined
        ? 'is gone, or cannot be read'
        : 'has changed on the disk since this page read it';
    const message = `${file} ${what}. Nothing was written.`;
    return { type: 'conflict', file, message };
  }
  return undefined;
}

function bytesOf(file: string): Uint8Array | undefined {
  try {
    return readInput(resolve('.', file));
  } catch {
    // A file that cannot be read cannot be kept either; writing it reports why.
    return undefined;
  }
}

function holds(bytes: Uint8Array, text: string): boolean {
  return Buffer.compare(bytes, new TextEncoder().encode(text)) === 0;
}

function writeAll({ texts, before }: SaveRequest, there: There): SaveOutcome {
  const kept: string[] = [];
  const changed: Replacement[] = [];
  for (const [file, after] of Object.entries(texts)) {
    const now = there.get(file);
    if (now === undefined) continue;
    changed.push({ path: resolve('.', file), before: now, after });
    const known = Object.hasOwn(before, file) ? before[file] : undefined;
    const isOurs = known !== undefined && holds(now, known);
    if (!isOurs && !holds(now, after)) kept.push(keep(file, now));
  }
  replaceTexts(changed);
  for (const [file, text] of Object.entries(texts))
    if (there.get(file) === undefined)
      writeWhole(resolve('.', file), new TextEncoder().encode(text), {
        isInput: true,
        isNew: true,
      });
  const files = Object.keys(texts);
  return kept.length > 0 ? { type: 'saved', files, kept } : { type: 'saved', files };
}

/** Keeps the contents of a file in a new file beside it. @returns its path. */
function keep(file: string, bytes: Uint8Array): string {
  const ending = extname(file);
  const stem = file.slice(0, file.length - ending.length);
  for (let count = 1; ; count++) {
    const path = `${stem}-from-disk${count === 1 ? '' : `-${count}`}${ending}`;
    try {
      writeWhole(resolve('.', path), bytes, { isNew: true });
      return path;
    } catch (error) {
      if (!(error instanceof ChangedError)) throw error;
    }
  }
}

const LONGEST_NAME = 100;

/** Writes the patch under a name that no file has yet. */
function saveNew({ texts }: SaveRequest, { main }: PatchTexts, name: string): SaveOutcome {
  const text = texts[main];
  if (text === undefined || Object.keys(texts).length > 1)
    return refused('A new file takes the patch itself, and nothing else.');
  // A name alone: no separator of any system, no stream or drive, nothing hidden.
  if (
    !/^[^./\\:\p{Cc}\p{Cf}][^/\\:\p{Cc}\p{Cf}]*\.ya?ml$/u.test(name) ||
    name.length > LONGEST_NAME
  )
    return refused(
      `"${name}" is not a name for a new file. It takes a name alone, in the patch's own folder, that ends in .yaml.`,
    );
  const path = join(main === '-' ? '.' : dirname(main), name);
  try {
    writeWhole(resolve('.', path), new TextEncoder().encode(text), { isNew: true });
  } catch (error) {
    if (error instanceof ChangedError)
      return refused(`${path} is there already. Give another name.`);
    throw error;
  }
  return { type: 'saved', files: [path] };
}
