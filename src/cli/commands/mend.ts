/** `check --fix`: works out the changes that mend a patch, prints them and, if asked, makes them. */

import { replaceTexts } from '../../files/whole-file.ts';
import { countsOf } from '../../findings/check.ts';
import type { Finding } from '../../findings/finding.ts';
import { mended } from '../../findings/mend/mending.ts';
import { counted } from '../../patch/text/counted.ts';
import { fileText, type PatchTexts } from '../../patch/texts.ts';
import { wrongRequest } from '../exit.ts';
import type { PatchOfFiles } from '../read-patch.ts';
import { sayExactly, sayJson, tell } from '../standard-output.ts';
import { countsLine } from './findings-line.ts';

export interface MendOptions {
  readonly tolerance: number;
  readonly write?: true;
  readonly json?: true;
  readonly quiet?: true;
}

/**
 * Mends what can be mended, one finding after another, each change checked before it is kept.
 * @returns the findings that are left.
 */
export async function mend(
  file: string,
  { patch, texts: before }: PatchOfFiles,
  findings: readonly Finding[],
  options: MendOptions,
): Promise<readonly Finding[]> {
  if (options.write && file === '-')
    throw wrongRequest('--write has no file to write to when the patch comes from standard input.');
  const { texts, left } = mended(patch, before, options.tolerance);
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
    });
  else if (!options.quiet && diff !== '') sayExactly(diff);
  if (!options.quiet) tell(summary(findings, left, changed.length, options.write === true));
  return left;
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
  if (before.length === 0) return 'Nothing found, so nothing to mend.';
  const rest =
    left.length === 0
      ? 'nothing is left.'
      : `left: ${countsLine(left)}; forehear check tells which.`;
  if (files === 0) return `Nothing here can be mended without knowing what was meant; ${rest}`;
  const what = written ? 'changed' : 'would be changed; --write does it';
  return `${counted(files, 'file')} ${what}: ${rest}`;
}
