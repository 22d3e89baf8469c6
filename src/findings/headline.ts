/** A finding in a few words, for where there is room for one line; its message has the numbers. */

import { jackName } from '../patch/patch.ts';
import type { Finding } from './finding.ts';
import { findingJacks } from './gathered.ts';
import { ruleNamed } from './rules/rules.ts';

/** As `shape.trigger never fires`, or `shape.trigger never fires, and 2 more`. */
export function headlineOf(finding: Finding): string {
  const [of, what] = ruleNamed(finding.rule).headline;
  const [first, ...others] = findingJacks(finding);
  if (first === undefined || of === 'patch') return what;
  const name = of === 'jack' ? jackName(first) : first.module;
  return `${name} ${what}${others.length > 0 ? `, and ${others.length} more` : ''}`;
}
