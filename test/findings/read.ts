/** What the tests of the findings read of a patch. */

import { check } from '../../src/findings/check.ts';
import type { Context, Finding, Rule } from '../../src/findings/finding.ts';
import type { Edit } from '../../src/patch/edit/edit.ts';
import { patchFrom } from '../patch-of.ts';

/** What the workshop patches with its small cabinet; the other patches want a larger one. */
export const SMALL: readonly string[] = [
  'closed-hat.yaml',
  'open-hat.yaml',
  'kick.yaml',
  'snare.yaml',
  'two-bar-kit.yaml',
];

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
