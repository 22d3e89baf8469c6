/** Patches for tests: from their text, and from the files that are shipped. */

import { readdirSync, readFileSync } from 'node:fs';
import { KINDS } from '../src/modules/kinds.ts';
import type { KeptTrees } from '../src/patch/fragment.ts';
import type { Patch } from '../src/patch/patch.ts';
import { type ReadOptions, readPatch } from '../src/patch/read.ts';
import { describeProblem } from '../src/patch/text/describe.ts';

const PATCHES = new URL('../patches/', import.meta.url);

/** The patches that are shipped, by file name. */
export const SHIPPED: readonly string[] = readdirSync(PATCHES).filter((name) =>
  name.endsWith('.yaml'),
);

/** The text of a shipped file, such as `parts/kick.yaml`. */
export function shipped(name: string): string {
  return readFileSync(new URL(name, PATCHES), 'utf8');
}

/** Files that many patches share are parsed once, as the page does. */
const kept: KeptTrees = new Map();

type Reading = ReturnType<typeof readPatch>;
type Changes = Pick<ReadOptions, 'set' | 'rack'>;

/** Reads a shipped patch, such as `kick.yaml`, with what is wrong with it. */
export function readExample(name: string, changes: Changes = {}): Reading {
  return readWith(shipped(name), name, {}, changes);
}

/** A shipped patch. @throws Error with every problem described. */
export function example(name: string, changes: Changes = {}): Patch {
  return patchIn(readExample(name, changes), { [name]: shipped(name) });
}

/**
 * Reads a patch; its parts and its rack are shipped files, or those of `files`.
 * @throws Error with every problem described.
 */
export function patchFrom(text: string, files: Readonly<Record<string, string>> = {}): Patch {
  return patchIn(readWith(text, 'test.yaml', files), { ...files, 'test.yaml': text });
}

function readWith(
  text: string,
  file: string,
  files: Readonly<Record<string, string>>,
  changes: Changes = {},
): Reading {
  const load = (path: string): string | undefined => {
    if (path in files) return files[path];
    try {
      return shipped(path);
    } catch {
      return undefined;
    }
  };
  return readPatch(text, { file, kinds: KINDS, load, loadRack: load, kept, ...changes });
}

function patchIn({ patch, problems }: Reading, files: Readonly<Record<string, string>>): Patch {
  if (patch !== undefined) return patch;
  throw new Error(
    problems.map((problem) => describeProblem(problem, (file) => files[file])).join('\n'),
  );
}
