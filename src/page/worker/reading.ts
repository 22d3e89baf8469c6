/** The texts of a patch, read and checked as the command line does. */

import { KINDS } from '../../modules/kinds.ts';
import type { KeptTrees } from '../../patch/fragment.ts';
import { SET_FILE, setSource } from '../../patch/overrides.ts';
import type { Patch } from '../../patch/patch.ts';
import { readPatch } from '../../patch/read.ts';
import { describeProblem } from '../../patch/text/describe.ts';
import type { Problem } from '../../patch/text/problem.ts';
import type { Files, ProblemView } from '../protocol.ts';

export interface Reading {
  readonly files: Files;
  /** What can be heard; undefined if anything is wrong. */
  readonly patch?: Patch;
  /** The same, or what can be patched and yet not be heard, for want of one output. */
  readonly legible?: Patch;
  readonly problems: readonly ProblemView[];
}

/** Reads the texts; a patch that cannot be heard, for want of one output, is a problem as well.
 * @param kept what earlier readings parsed. */
export function readFiles(files: Files, kept: KeptTrees = new Map()): Reading {
  const textOf = (name: string): string | undefined =>
    Object.hasOwn(files.texts, name) ? files.texts[name] : undefined;
  const { patch, problems } = readPatch(textOf(files.main) ?? '', {
    file: files.main,
    kinds: KINDS,
    set: files.set,
    load: textOf,
    loadRack: textOf,
    kept,
    ...(files.rack !== undefined && {
      rack: { file: files.rack, text: textOf(files.rack) ?? '' },
    }),
  });
  const sourceOf = (name: string): string | undefined =>
    name === SET_FILE ? setSource(files.set) : textOf(name);
  const views = [...problems, ...(patch === undefined ? [] : outputProblems(patch))].map(
    (problem) => ({
      file: problem.place.file,
      line: problem.place.line,
      column: problem.place.column,
      text: describeProblem(problem, sourceOf),
    }),
  );
  return {
    files,
    problems: views,
    ...(views.length === 0 && patch !== undefined && { patch }),
    ...(problems.length === 0 && patch !== undefined && { legible: patch }),
  };
}

/** The same demand as `render` makes. */
function outputProblems(patch: Patch): readonly Problem[] {
  const [first, second] = patch.modules.filter(({ definition }) => definition.role === 'output');
  if (first === undefined)
    return [
      {
        code: 'missing',
        place: { file: patch.file, line: 1, column: 1, length: 1 },
        message: 'the patch has no output module, so there is nothing to hear',
        expected: 'out: { kind: output } and a cable to out.left',
      },
    ];
  if (second === undefined) return [];
  const message = 'a patch has one output module; this is another. Mix into one';
  return [{ code: 'duplicate', place: second.place, message }];
}
