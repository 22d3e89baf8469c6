/** A patch with some settings changed, read anew from its text. */

import { KINDS } from '../modules/kinds.ts';
import type { KeptTrees } from '../patch/fragment.ts';
import type { Patch } from '../patch/patch.ts';
import { readPatch } from '../patch/read.ts';
import type { Problem } from '../patch/text/problem.ts';

/** A patch as text. Plain data: a worker cannot be handed a patch, whose definitions hold functions. */
export interface WrittenPatch {
  readonly file: string;
  /** The texts of the file, its parts and its rack, by the names that they are found under. */
  readonly texts: ReadonlyMap<string, string>;
  /** The name of another rack than the patch's own. */
  readonly rack?: string;
  /** What is set in every variant. */
  readonly set: readonly string[];
}

/** Variants differ in what is set; the texts are parsed once. */
const kept: KeptTrees = new Map();

/** Reads a variant; the places of problems in `set` are in lines after those of the patch's own. */
export function readVariant(
  { file, texts, rack, set: always }: WrittenPatch,
  set: readonly string[],
): { readonly patch?: Patch; readonly problems: readonly Problem[] } {
  const load = (path: string): string | undefined => texts.get(path);
  return readPatch(texts.get(file) ?? '', {
    file,
    kinds: KINDS,
    set: [...always, ...set],
    load,
    loadRack: load,
    kept,
    ...(rack !== undefined && { rack: { file: rack, text: texts.get(rack) ?? '' } }),
  });
}

/** The patch of a variant. @throws Error with its problems, if it has any. */
export function variantPatch(written: WrittenPatch, set: readonly string[]): Patch {
  const { patch, problems } = readVariant(written, set);
  if (patch !== undefined) return patch;
  throw new Error(`${set.join(', ')}: ${problems.map(({ message }) => message).join('; ')}`);
}
