/** Patches from text, with the real kinds, for the tests of the findings. */

import { readdirSync, readFileSync } from 'node:fs';
import { check } from '../../src/findings/check.ts';
import type { Context, Finding, Rule } from '../../src/findings/finding.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import type { Edit } from '../../src/patch/edit/edit.ts';
import type { KeptTrees } from '../../src/patch/fragment.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { describeProblem } from '../../src/patch/text/describe.ts';

const PATCHES = new URL('../../patches/', import.meta.url);

/** What the workshop patches with its small cabinet; the other patches want a larger one. */
export const SMALL: readonly string[] = [
  'closed-hat.yaml',
  'open-hat.yaml',
  'kick.yaml',
  'snare.yaml',
  'two-bar-kit.yaml',
];

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

/**
 * Reads a patch; its parts and its rack are shipped files, or those of `files`.
 * @throws Error with every problem described.
 */
export function patchFrom(text: string, files: Readonly<Record<string, string>> = {}): Patch {
  const load = (path: string): string | undefined => {
    if (path in files) return files[path];
    try {
      return shipped(path);
    } catch {
      return undefined;
    }
  };
  const { patch, problems } = readPatch(text, {
    file: 'test.yaml',
    kinds: KINDS,
    load,
    loadRack: load,
    kept,
  });
  if (patch !== undefined) return patch;
  throw new Error(
    problems
      .map((problem) =>
        describeProblem(problem, (file) => (file === 'test.yaml' ? text : files[file])),
      )
      .join('\n'),
  );
}

/** The findings of a patch as `rule severity jack`. */
export function told(findings: readonly Finding[]): string[] {
  return findings.map(({ rule, severity, jack }) =>
    [rule, severity, jack === undefined ? '-' : `${jack.module}.${jack.jack}`].join(' '),
  );
}

/** Checks the text of a patch. */
export function checked(text: string, tolerance = 0): readonly Finding[] {
  return check(patchFrom(text), { tolerance });
}

/** The edits by which a rule mends a finding; none where it does not, or may not. */
export function editsFor(
  rule: Rule | undefined,
  finding: Finding | undefined,
  context: Context,
): readonly Edit[] {
  const given = finding && rule?.mend?.(finding, context);
  const [mend] = given && 'choice' in given ? given.choice : [given];
  if (mend === undefined || 'why' in mend) return [];
  return 'edits' in mend ? mend.edits : mend;
}
