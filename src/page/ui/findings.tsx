/** The findings, live. */

import { useKnown } from './use-sheet.ts';

export function Findings() {
  const findings = useKnown('findings') ?? [];
  const { main } = useKnown('files');
  if (findings.length === 0) return <p>None: the check finds nothing wrong with this patch.</p>;
  return (
    <table class="told">
      <thead>
        <tr>
          <th scope="col">finding</th>
          <th scope="col">what happens</th>
          <th scope="col">what to do</th>
        </tr>
      </thead>
      <tbody>
        {findings.map(({ rule, severity, message, fix, file, line }) => (
          <tr key={`${rule}:${file}:${line}:${message}`} class={severity}>
            <th scope="row">
              <span class="severity">{severity}</span>
              <span class="under">{rule}</span>
              <span class="under">{file === main ? `line ${line}` : `${file}, line ${line}`}</span>
            </th>
            <td>{message}</td>
            <td>{fix}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
