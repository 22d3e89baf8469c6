/** What the check finds, in one line. */

import { countedEach } from '../../../patch/text/counted.ts';
import { useKnown } from '../use-sheet.ts';

const SEVERITIES = ['fault', 'caution', 'note'] as const;

export function Summary() {
  const findings = useKnown('findings');
  const hasPatch = useKnown('view') !== undefined;
  const isBroken = useKnown('problems').length > 0;
  // It keeps the place, so that nothing below moves when the answer comes.
  if (findings === undefined)
    return (
      <p>
        {isBroken && !hasPatch
          ? 'The check waits for a file that can be taken as a patch.'
          : 'The check is under way.'}
      </p>
    );
  if (findings.length === 0) return <p>The check finds nothing wrong with this patch.</p>;
  const counts = countedEach(
    SEVERITIES.map((severity) => [
      findings.filter((finding) => finding.severity === severity).length,
      severity,
    ]),
  );
  const hasFaults = findings.some(({ severity }) => severity === 'fault');
  return (
    <p class={hasFaults ? 'faults' : ''}>
      The check finds {counts.join(', ')}: <a href="#findings">findings and cautions</a>.
    </p>
  );
}
