/** What the check finds, as markup for the sheet and for the page that is played with. */

import { countsOf } from '../../findings/check.ts';
import type { Finding } from '../../findings/finding.ts';
import type { Patch } from '../../patch/patch.ts';
import { countedEach } from '../../patch/text/counted.ts';
import { escaped } from '../markup.ts';

/** Says in one line how many there are. */
export function summaryBody(findings: readonly Finding[]): string {
  const { fault, caution, note } = countsOf(findings);
  if (findings.length === 0) return '<p>The check finds nothing wrong with this patch.</p>';
  const counts = countedEach([
    [fault, 'fault'],
    [caution, 'caution'],
    [note, 'note'],
  ]);
  const words = counts.join(', ');
  const style = fault > 0 ? ' class="faults"' : '';
  return `<p${style}>The check finds ${words}: see <a href="#findings">findings and cautions</a>.</p>`;
}

/** Lists them. */
export function findingsBody(findings: readonly Finding[], patch: Patch): string {
  if (findings.length === 0) return '<p>None: the check finds nothing wrong with this patch.</p>';
  const rows = findings.map(({ severity, rule, message, fix, place }) => {
    const where =
      place.file === patch.file ? `line ${place.line}` : `${place.file}, line ${place.line}`;
    return `<tr class="${severity}"><th scope="row"><span class="severity">${severity}</span><span class="under">${escaped(rule)}</span><span class="under">${escaped(where)}</span></th><td>${escaped(message)}</td><td>${escaped(fix)}</td></tr>`;
  });
  return `<table class="told">
<thead><tr><th scope="col">finding</th><th scope="col">what happens</th><th scope="col">what to do</th></tr></thead>
<tbody>
${rows.join('\n')}
</tbody>
</table>`;
}
