/** The example patches as text, for tests that read variants of them. */

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { WrittenPatch } from '../../src/compare/variant.ts';
import { readVariant } from '../../src/compare/variant.ts';
import type { Patch } from '../../src/patch/patch.ts';

export const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));

/** A patch by its own text, or an example with its parts. */
export function written(
  text: string,
  parts: readonly string[] = [],
): { written: WrittenPatch; patch: Patch } {
  const texts = new Map([['test.yaml', text]]);
  for (const part of parts) texts.set(part, readFileSync(join(PATCHES, part), 'utf8'));
  const made: WrittenPatch = { file: 'test.yaml', texts, set: [] };
  const { patch, problems } = readVariant(made, []);
  if (patch === undefined) throw new Error(JSON.stringify(problems, null, 1));
  return { written: made, patch };
}

export function example(name: string, parts: readonly string[] = []) {
  return written(readFileSync(join(PATCHES, name), 'utf8'), parts);
}
