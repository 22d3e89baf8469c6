/** The example patches as text, for tests that read variants of them. */

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { readVariant } from '../../src/compare/variant.ts';
import type { Patch } from '../../src/patch/patch.ts';
import type { PatchTexts } from '../../src/patch/texts.ts';

export const PATCHES = fileURLToPath(new URL('../../patches/', import.meta.url));

/** A patch by its own text, or an example with its parts. */
export function written(
  text: string,
  parts: readonly string[] = [],
): { written: PatchTexts; patch: Patch } {
  const texts: Record<string, string> = { 'test.yaml': text };
  for (const part of parts) texts[part] = readFileSync(join(PATCHES, part), 'utf8');
  const made: PatchTexts = { main: 'test.yaml', texts, set: [] };
  const { patch, problems } = readVariant(made, []);
  if (patch === undefined) throw new Error(JSON.stringify(problems, null, 1));
  return { written: made, patch };
}

export function example(name: string, parts: readonly string[] = []) {
  return written(readFileSync(join(PATCHES, name), 'utf8'), parts);
}
