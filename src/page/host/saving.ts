/**
 * Writes what the page has made of the texts back to the disk: the files that were read, or one new
 * file beside the patch. Never anything else, and never over what has changed meanwhile unless told to.
 */

import { closeSync, openSync, readFileSync, rmSync } from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import { OutputError, outputError, writeWhole } from '../../files/whole-file.ts';
import type { Files, SaveAnswer, SaveRequest } from '../protocol.ts';
import { isTexts } from './files.ts';

/** What became of a request. */
export type Outcome =
  | { readonly type: 'saved'; readonly files: readonly string[] }
  | Exclude<SaveAnswer, { type: 'saved' }>;

/** Reads a request; undefined for what is none. */
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
export function save(request: SaveRequest, files: Files): Outcome {
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
    const conflict = request.overwrite === true ? undefined : conflictOf(request);
    return conflict ?? { type: 'saved', files: writeAll(texts) };
  } catch (error) {
    if (!(error instanceof OutputError)) throw error;
    return refused(error.message);
  }
}

function refused(message: string): Outcome {
  return { type: 'refused', message };
}

/** Looks at every file before any is written. */
function conflictOf({ texts, before }: SaveRequest): Outcome | undefined {
  for (const file of Object.keys(texts)) {
    const there = textOf(file);
    if (there !== undefined && Object.hasOwn(before, file) && there === before[file]) continue;
    const what = there === undefined ? 'is not there any more' : 'has changed on the disk';
    const message = `${file} ${what} since this page read it. Nothing was written.`;
    return { type: 'conflict', file, message };
  }
  return undefined;
}

/** Undefined for what is not there or is not text. */
function textOf(file: string): string | undefined {
  try {
    const decoder = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });
    return decoder.decode(readFileSync(resolve('.', file)));
  } catch {
    return undefined;
  }
}

function writeAll(texts: SaveRequest['texts']): string[] {
  const written: string[] = [];
  for (const [file, text] of Object.entries(texts)) {
    try {
      writeWhole(resolve('.', file), new TextEncoder().encode(text));
    } catch (error) {
      if (!(error instanceof OutputError) || written.length === 0) throw error;
      const { reason, remedy, byPath } = error;
      const told = `${reason}; but ${written.join(', ')} has been written`;
      throw new OutputError(file, told, remedy, byPath, error);
    }
    written.push(file);
  }
  return written;
}

const LONGEST_NAME = 100;

/** Writes the patch under a name that no file has yet. */
function saveNew({ texts }: SaveRequest, { main }: Files, name: string): Outcome {
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
  if (!reserve(resolve('.', path))) return refused(`${path} is there already. Give another name.`);
  try {
    writeWhole(resolve('.', path), new TextEncoder().encode(text));
  } catch (error) {
    rmSync(resolve('.', path), { force: true });
    throw error;
  }
  return { type: 'saved', files: [path] };
}

/** Makes an empty file where there is nothing, not even a link to nowhere; false where there is. */
function reserve(path: string): boolean {
  try {
    closeSync(openSync(path, 'wx'));
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    throw outputError(path, error);
  }
}
