/** One module in the table of settings: a line that opens. */

import { useMemo } from 'preact/hooks';
import type { ModuleView } from '../../protocol.ts';
import { SettingRow } from './setting-row.tsx';

export interface ModuleProps {
  readonly module: ModuleView;
  readonly isOpen: boolean;
  readonly onToggle: (isOpen: boolean) => void;
}

export function Module({ module, isOpen, onToggle }: ModuleProps) {
  const { name, kind, unit, settings } = module;
  // The engine tells of all modules again with each change; most are as they were.
  const content = JSON.stringify(module);
  return useMemo(
    () => (
      <details
        class="module"
        open={isOpen}
        onToggle={({ currentTarget }) => onToggle(currentTarget.open)}
      >
        <summary>
          <b>{name}</b>{' '}
          <span class="quiet">{unit === undefined ? kind : `${kind}, unit ${unit}`}</span>{' '}
          {!isOpen && (
            <span class="brief">
              {settings
                .filter(({ isGiven }) => isGiven)
                .map(({ name: setting, text, dial, isDialGiven }) => (
                  <span key={setting}>
                    {setting} <b>{isDialGiven ? dial : text}</b>
                  </span>
                ))}
            </span>
          )}
        </summary>
        {isOpen && <Rows {...module} />}
      </details>
    ),
    [content, isOpen],
  );
}

function Rows({ name, about, settings }: ModuleView) {
  const hasDials = settings.some(({ dial }) => dial !== undefined);
  return (
    <>
      <p class="quiet">{about}</p>
      <table class="set">
        <thead>
          <tr>
            <th scope="col">setting</th>
            <th scope="col">value</th>
            <th scope="col">scale</th>
            {hasDials && <th scope="col">dial</th>}
            <th scope="col">status</th>
          </tr>
        </thead>
        <tbody>
          {settings.map((setting) => (
            <SettingRow key={setting.name} module={name} setting={setting} hasDials={hasDials} />
          ))}
        </tbody>
      </table>
    </>
  );
}
