/** The settings as they stand, for paper: the table that a sheet has without its moving part. */

import type { ModuleView } from '../../protocol.ts';
import { useLater } from '../later.ts';

export function PrintedSettings({ modules }: { readonly modules: readonly ModuleView[] }) {
  const settled = useLater(modules) ?? [];
  const hasDials = settled.some(({ settings }) => settings.some(({ dial }) => dial !== undefined));
  return (
    <>
      <p class="quiet paper">
        Bold is what this patch asks for; the rest is as it usually is.
        {hasDials && ' A framed number is the position of the dial.'}
      </p>
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
                  {settings.map(({ name: setting, text, isGiven, dial, isDialGiven }) => (
                    <li key={setting}>
                      {setting}{' '}
                      {isGiven && !isDialGiven ? <b>{text}</b> : <span class="usual">{text}</span>}
                      {dial !== undefined && (
                        <>
                          {' '}
                          {isDialGiven ? (
                            <b class="dial">{dial}</b>
                          ) : (
                            <span class="dial">{dial}</span>
                          )}
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
    </>
  );
}
