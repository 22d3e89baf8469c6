/** Changes written into the main file of a patch, which is then checked for the intended value. */

import { applyEdits, type Edit } from '../../patch/edit/edit.ts';
import type { KeptTrees } from '../../patch/fragment.ts';
import type { Patch } from '../../patch/patch.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import { readFiles, type TextsReading } from './reading.ts';

/** The texts after a change, read; or why it cannot be made. */
export type Changed =
  | { readonly reading: TextsReading; readonly refused?: undefined }
  | { readonly refused: string };

export interface Writing {
  /** In order, each applied to the result of the one before. */
  readonly edits: readonly Edit[];
  /** The `--set` paths of the changed value: these are removed, since the change came later. */
  readonly sets: readonly string[];
  /** Whether the changed patch has the intended value. */
  readonly holds: (patch: Patch) => boolean;
}

/** Writes into the main file. @param kept the trees that earlier readings parsed. */
export function write(
  files: PatchTexts,
  { edits, sets, holds }: Writing,
  kept: KeptTrees,
): Changed {
  const { main, texts } = files;
  let edited: string | undefined = texts[main] ?? '';
  for (const edit of edits)
    edited = edited === undefined ? undefined : applyEdits(main, edited, [edit]);
  if (edited === undefined)
    return { refused: `${main} has no place for this; edit the file yourself` };
  const reading = readFiles(
    {
      ...files,
      set: files.set.filter((one) => !sets.includes(one.slice(0, one.indexOf('=')).trim())),
      texts: { ...texts, [main]: edited },
    },
    kept,
  );
  const [problem] = reading.problems;
  if (problem !== undefined) return { refused: problem.text };
  if (reading.patch === undefined || !holds(reading.patch))
    return { refused: 'the command line gives this with --set, which the file cannot change' };
  return { reading };
}
