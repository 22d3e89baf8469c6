/** Reads the texts of a patch for the page: the patch that can be heard, and the problems in words. */

import { KINDS } from '../../modules/kinds.ts';
import type { KeptTrees } from '../../patch/fragment.ts';
import type { Patch } from '../../patch/patch.ts';
import { describeIn, type PatchTexts, readTexts, unplayable } from '../../patch/texts.ts';
import type { ProblemView } from '../protocol.ts';

export interface TextsReading {
  readonly files: PatchTexts;
  /** The patch that can be heard; undefined if there are problems. */
  readonly patch?: Patch;
  /** The same, or a patch that can be patched but not heard, since it does not have exactly one output. */
  readonly legible?: Patch;
  readonly problems: readonly ProblemView[];
}

/**
 * Reads the texts; a patch that cannot be heard, since it does not have exactly one output, is a problem as well.
 * @param kept the trees that earlier readings parsed.
 */
export function readFiles(files: PatchTexts, kept: KeptTrees = new Map()): TextsReading {
  const { patch, problems } = readTexts(files, { kinds: KINDS, kept });
  const views = [...problems, ...(patch === undefined ? [] : unplayable(patch))].map((problem) => ({
    file: problem.place.file,
    line: problem.place.line,
    column: problem.place.column,
    text: describeIn(files, problem),
  }));
  return {
    files,
    problems: views,
    ...(views.length === 0 && patch !== undefined && { patch }),
    ...(problems.length === 0 && patch !== undefined && { legible: patch }),
  };
}
