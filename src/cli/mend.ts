/** `check --fix`: works out the changes that mend a patch, prints them and, if asked, makes them. */

import { replaceTexts } from '../files/whole-file.ts';
import { countsOf, findingsIn } from '../findings/check.ts';
import { contextOf } from '../findings/context.ts';
import type { Finding } from '../findings/finding.ts';
import { mended } from '../findings/mend/mending.ts';
import { KINDS } from '../modules/kinds.ts';
import { renewed } from '../patch/edit/renewed.ts';
import type { Patch } from '../patch/patch.ts';
import { counted } from '../patch/text/counted.ts';
import { fileText, loadTexts, type PatchTexts } from '../patch/texts.ts';
import { wrongRequest } from './exit.ts';
import { findPatch, problemsStop, readPart } from './read-patch.ts';
import {
  barredAsData,
  barredAsText,
  mendlessAsData,
  mendlessAsText,
  mendlessOf,
} from './reports/barred-mends.ts';
import { countsLine } from './reports/findings-line.ts';
import { sayExactly, sayJson, tell } from './standard-output.ts';

export interface MendOptions {
  readonly tolerance: number;
  readonly write?: true;
  readonly json?: true;
  readonly quiet?: true;
}

/**
 * Mends what can be mended, one finding after another, each change checked before it is kept. The
 * changes include those that bring files of an earlier version into the present form.
 * @returns the findings before and after.
 */
export async function mend(
  { patch, texts: read, before }: ReadToMend,
  options: MendOptions,
): Promise<{ readonly found: readonly Finding[]; readonly left: readonly Finding[] }> {
  const found = findingsIn(contextOf(patch, options.tolerance));
  const { texts, left, barred } = mended(patch, read, options);
  const mendless = mendlessOf(left, barred);
  const changed = Object.entries(texts.texts).filter(
    ([name, text]) => text !== fileText(before, name),
  );
  const diff = await unifiedDiff(changed, before);
  if (options.write)
    replaceTexts(
      changed.map(([name, after]) => ({
        path: name,
        before: fileText(before, name) ?? '',
        after,
      })),
    );
  if (options.json)
    sayJson({
      files: changed.map(([name]) => name),
      written: options.write === true,
      diff,
      left: countsOf(left),
      barred: barredAsData(barred),
      mendless: mendlessAsData(mendless),
    });
  else if (!options.quiet && diff !== '') sayExactly(diff);
  if (!options.quiet) {
    for (const line of barredAsText(barred)) tell(line);
    const words = mendlessAsText(mendless);
    if (words !== undefined) tell(words);
    tell(summary(found, left, changed.length, options.write === true));
  }
  return { found, left };
}

/** A patch that is to be mended. */
export interface ReadToMend {
  readonly patch: Patch;
  /** What it was read from; files of an earlier version are in the present form. */
  readonly texts: PatchTexts;
  /** The texts as they are in the files. */
  readonly before: PatchTexts;
}

/**
 * Reads a patch that is to be mended.
 * @throws Stop with every problem in its files, unless all are of an earlier version's form.
 */
export function readToMend(
  file: string,
  set: readonly string[],
  { rack, write }: { readonly rack?: string; readonly write?: true },
): ReadToMend {
  if (write && file === '-')
    throw wrongRequest('--write has no file to write to when the patch comes from standard input.');
  const { patch, problems, texts } = findPatch(file, set, rack);
  if (patch !== undefined) return { patch, texts, before: texts };
  const present = renewed(problems, new Map(Object.entries(texts.texts)));
  const again =
    present &&
    loadTexts(
      { ...texts, texts: Object.fromEntries(present) },
      (path) => present.get(path) ?? readPart(path),
      { kinds: KINDS },
    );
  if (again?.patch !== undefined) return { patch: again.patch, texts: again.texts, before: texts };
  // Problems that appear once the old form is rewritten.
  const isOther = again !== undefined && problems.every(({ rewrite }) => rewrite !== undefined);
  throw isOther ? problemsStop(again.problems, again.texts) : problemsStop(problems, texts);
}

async function unifiedDiff(
  changed: readonly (readonly [string, string])[],
  before: PatchTexts,
): Promise<string> {
  if (changed.length === 0) return '';
  const { createTwoFilesPatch, FILE_HEADERS_ONLY } = await import('diff');
  return changed
    .map(([name, text]) =>
      createTwoFilesPatch(name, name, fileText(before, name) ?? '', text, undefined, undefined, {
        context: 3,
        headerOptions: FILE_HEADERS_ONLY,
      }),
    )
    .join('');
}

function summary(
  before: readonly Finding[],
  left: readonly Finding[],
  files: number,
  written: boolean,
): string {
  if (before.length === 0 && files === 0) return 'Nothing found, so nothing to mend.';
  const rest =
    left.length === 0
      ? 'nothing is left.'
      : `left: ${countsLine(left)}; forehear check lists them.`;
  if (files === 0) return `Nothing is changed; ${rest}`;
  const what = written ? 'changed' : 'would be changed; --write does it';
  return `${counted(files, 'file')} ${what}: ${rest}`;
}
