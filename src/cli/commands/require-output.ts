/** Whether there is anything to hear. */

import type { Patch } from '../../patch/patch.ts';
import { wrongFile } from '../exit.ts';

/** @throws Stop unless the patch has exactly one output module. */
export function requireOutput(patch: Patch, file: string): void {
  const [first, second] = patch.modules.filter(({ definition }) => definition.role === 'output');
  if (first === undefined)
    throw wrongFile(
      file,
      `the patch has no output module, so there is nothing to hear. Add "out: { kind: output }" and a cable to out.left.`,
    );
  if (second === undefined) return;
  const { place } = second;
  throw wrongFile(place, 'a patch has one output module; this is another. Mix into one.');
}
