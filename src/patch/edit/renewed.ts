/** Files of earlier versions, written as they are now. */

import type { Problem, Rewrite } from '../text/problem.ts';
import { applyEdits } from './edit.ts';

/**
 * Writes again, in the present form, what the reader knows how to.
 * @param problems of the files, some of them with a rewrite.
 * @param texts by the names that places have for them.
 * @returns the texts, some of them changed; undefined where none can be.
 */
export function renewed(
  problems: readonly Problem[],
  texts: ReadonlyMap<string, string>,
): ReadonlyMap<string, string> | undefined {
  const byFile = new Map<string, Rewrite[]>();
  for (const { rewrite } of problems) {
    const text = rewrite && texts.get(rewrite.place.file);
    if (rewrite === undefined || text === undefined) continue;
    const { file } = rewrite.place;
    // A rewrite that cannot be made does not keep the others from being made.
    if (applyEdits(file, text, [rewrite]) === undefined) continue;
    byFile.set(file, [...(byFile.get(file) ?? []), rewrite]);
  }
  const changed = [...byFile].flatMap(([file, rewrites]) => {
    const text = applyEdits(file, texts.get(file) ?? '', rewrites);
    return text === undefined ? [] : [[file, text] as const];
  });
  return changed.length === 0 ? undefined : new Map([...texts, ...changed]);
}
