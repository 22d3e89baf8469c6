/** A patch with some settings changed, read again from its texts. */

import { KINDS, type KindsOption } from '../modules/kinds.ts';
import type { KeptTrees } from '../patch/fragment.ts';
import type { Patch } from '../patch/patch.ts';
import { type PatchTexts, type ReadTexts, readTexts } from '../patch/texts.ts';

/** Variants differ in what is set; the texts are parsed once. */
const kept: KeptTrees = new Map();

/** Reads a variant; the places of problems in `set` are in lines after those of the patch's own. */
export function readVariant(
  texts: PatchTexts,
  set: readonly string[],
  { kinds = KINDS }: KindsOption = {},
): ReadTexts {
  return readTexts(texts, { kinds, kept, set });
}

/** The patch of a variant. @throws Error with its problems, if it has any. */
export function variantPatch(
  texts: PatchTexts,
  set: readonly string[],
  of: KindsOption = {},
): Patch {
  const { patch, problems } = readVariant(texts, set, of);
  if (patch !== undefined) return patch;
  throw new Error(`${set.join(', ')}: ${problems.map(({ message }) => message).join('; ')}`);
}
