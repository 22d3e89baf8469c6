/** Changes written into the main file of a patch, which then must say what was meant. */

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
  /** One after the other, each a change of what the one before it has left. */
  readonly edits: readonly Edit[];
  /** What the command line calls what is changed: it gives way, since the hand came later. */
  readonly sets: readonly string[];
  /** Whether a patch has it from the file. */
  readonly holds: (patch: Patch) => boolean;
}

/** Writes into the main file. @param kept what earlier readings parsed. */
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
    return { refused: `${main} has no place for this that can be found; edit the file` };
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
