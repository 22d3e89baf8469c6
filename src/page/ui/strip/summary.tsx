/** What the check finds, in one line. */

import { useKnown } from '../use-sheet.ts';

const SEVERITIES = ['fault', 'caution', 'note'] as const;

export function Summary() {
  const findings = useKnown('findings');
  // It keeps the place, so that nothing below moves when the answer comes.
  if (findings === undefined) return <p>The check is under way.</p>;
  if (findings.length === 0) return <p>The check finds nothing wrong with this patch.</p>;
  const counts = SEVERITIES.map((severity) => {
    const count = findings.filter((finding) => finding.severity === severity).length;
    return count === 0 ? '' : `${count} ${severity}${count === 1 ? '' : 's'}`;
  }).filter((words) => words !== '');
  const hasFaults = findings.some(({ severity }) => severity === 'fault');
  return (
    <p class={hasFaults ? 'faults' : ''}>
      The check finds {counts.join(', ')}: <a href="#findings">findings and cautions</a>.
    </p>
  );
}
