/** What is wrong with a patch, as a fit compares it with what was wrong before. */

import { check } from '../../findings/check.ts';
import type { Severity } from '../../findings/finding.ts';
import type { Concern } from '../../fit/settle.ts';
import { jackName, type Patch } from '../../patch/patch.ts';

/** A note is worth knowing, and does no harm. */
const WEIGHTS: Readonly<Record<Severity, number>> = { fault: 2, caution: 1, note: 0 };

/** The faults and cautions of a patch. They are identified by jacks, since places in the text move with the values. */
export function concernsOf(patch: Patch): readonly Concern[] {
  return check(patch)
    .filter(({ severity }) => WEIGHTS[severity] > 0)
    .map(({ rule, severity, jack, message }) => ({
      about: jack === undefined ? rule : `${rule} at ${jackName(jack)}`,
      weight: WEIGHTS[severity],
      message,
    }));
}
