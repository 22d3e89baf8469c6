/** Where a command's files go, and whether there is anything to hear. */

import { mkdirSync } from 'node:fs';
import type { Patch } from '../../patch/patch.ts';
import { EXIT, Stop, wrongRequest } from '../exit.ts';

/**
 * Makes a folder, and those above it, where there is none.
 * @throws Stop if a file is in the way or the machine will not.
 */
export function makeFolder(folder: string): void {
  try {
    mkdirSync(folder, { recursive: true });
  } catch (error) {
    const { code, message } = error as NodeJS.ErrnoException;
    if (code === 'EEXIST' || code === 'ENOTDIR')
      throw wrongRequest(
        `${folder}: this is a file, so nothing can be put in it. Choose another place with -o.`,
      );
    throw new Stop(EXIT.machine, `${folder}: the folder could not be made: ${message}`);
  }
}

/** @throws Stop unless the patch has exactly one output module. */
export function requireOutput(patch: Patch, file: string): void {
  const [first, second] = patch.modules.filter(({ definition }) => definition.role === 'output');
  if (first === undefined)
    throw wrongRequest(
      `${file}: the patch has no output module, so there is nothing to hear. Add "out: { kind: output }" and a cable to out.left.`,
    );
  if (second === undefined) return;
  const { place } = second;
  throw wrongRequest(
    `${place.file}:${place.line}:${place.column}: a patch has one output module; this is another. Mix into one.`,
  );
}
