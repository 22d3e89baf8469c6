/** One line about the check, for other commands. */

import { countsOf } from '../../findings/check.ts';
import type { Finding } from '../../findings/finding.ts';
import { countedEach } from '../../patch/text/counted.ts';

/** The count of findings and the worst of them; `findings` have the worst first. */
export function findingsLine(findings: readonly Finding[]): string {
  const [worst] = findings;
  if (worst === undefined) return 'check: nothing found';
  const { file, line, column } = worst.place;
  return `check: ${countsLine(findings)}; ${file}:${line}:${column}: ${worst.rule}: ${worst.message}`;
}

/** How many of each severity there are: "2 faults, 1 note". */
export function countsLine(findings: readonly Finding[]): string {
  const { fault, caution, note } = countsOf(findings);
  const counts = countedEach([
    [fault, 'fault'],
    [caution, 'caution'],
    [note, 'note'],
  ]);
  return counts.join(', ');
}
