/** Patches for tests of files: read from text as a person would write them. */

import { KINDS } from '../../src/modules/kinds.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';

export function patchFrom(text: string): Patch {
  const { patch, problems } = readPatch(text, { file: 'test.yaml', kinds: KINDS });
  if (patch === undefined) throw new Error(problems.map(({ message }) => message).join('\n'));
  return patch;
}
