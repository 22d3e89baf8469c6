/** One line about the check, for commands that do something else. */

import { countsOf } from '../findings/check.ts';
import type { Finding } from '../findings/finding.ts';

/** The count of findings and the worst of them; `findings` have the worst first. */
export function findingsLine(findings: readonly Finding[]): string {
  const [worst] = findings;
  if (worst === undefined) return 'check: nothing found';
  const { fault, caution, note } = countsOf(findings);
  const counts = [counted(fault, 'fault'), counted(caution, 'caution'), counted(note, 'note')];
  const { file, line, column } = worst.place;
  return `check: ${counts.filter((one) => one !== '').join(', ')}; ${file}:${line}:${column}: ${worst.rule}: ${worst.message}`;
}

function counted(count: number, word: string): string {
  return count === 0 ? '' : `${count} ${word}${count === 1 ? '' : 's'}`;
}
