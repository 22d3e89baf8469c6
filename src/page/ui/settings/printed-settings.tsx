/** The settings as they stand, for paper: the table that a sheet has without its moving part. */

import type { ModuleView } from '../../protocol.ts';
import { useLater } from '../later.ts';

export function PrintedSettings({ modules }: { readonly modules: readonly ModuleView[] }) {
  const settled = useLater(modules) ?? [];
  return (
    <table class="turned paper">
      <thead>
        <tr>
          <th scope="col" class="box">
            done
          </th>
          <th scope="col">module</th>
          <th scope="col">settings</th>
        </tr>
      </thead>
      <tbody>
        {settled.map(({ name, kind, unit, settings }) => (
          <tr key={name}>
            <td class="box">
              <input type="checkbox" aria-label={`${name}: set`} />
            </td>
            <th scope="row">
              {name}
              <span class="under">{unit === undefined ? kind : `${kind}, unit ${unit}`}</span>
            </th>
            <td>
              <ul class="settings">
                {settings.map(({ name: setting, text, isGiven, dial }) => (
                  <li key={setting}>
                    {setting} {isGiven ? <b>{text}</b> : <span class="usual">{text}</span>}
                    {dial !== undefined && (
                      <>
                        {' '}
                        <span class="dial">{dial.replace(/^dial /, '')}</span>
                      </>
                    )}
                  </li>
                ))}
              </ul>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
