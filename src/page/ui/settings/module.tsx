/** One module in the table of settings: a fold. */

import { useMemo } from 'preact/hooks';
import type { FindingView, ModuleView } from '../../protocol.ts';
import { FindingHere, Sign } from '../finding.tsx';
import { useSheet } from '../use-sheet.ts';
import { SettingRow } from './setting-row.tsx';

export interface ModuleProps {
  readonly module: ModuleView;
  /** The finding shown at it. */
  readonly told: FindingView | undefined;
  readonly isOpen: boolean;
  readonly onToggle: (isOpen: boolean) => void;
}

export function Module({ module, told, isOpen, onToggle }: ModuleProps) {
  const { name, kind, unit, settings } = module;
  // The engine sends all modules again with each change; most are unchanged.
  const content = JSON.stringify(module);
  return useMemo(
    () => (
      <details
        class={told === undefined ? 'module' : `module ${told.severity}`}
        data-module={name}
        open={isOpen}
        onToggle={({ currentTarget }) => onToggle(currentTarget.open)}
      >
        <summary>
          {told !== undefined && <Sign severity={told.severity} />}
          <b>{name}</b>{' '}
          <span class="quiet">{unit === undefined ? kind : `${kind}, unit ${unit}`}</span>{' '}
          {told !== undefined && <b class="word">{told.severity}</b>}{' '}
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
        {isOpen && <Rows module={module} told={told} />}
      </details>
    ),
    [content, isOpen, JSON.stringify(told)],
  );
}

function Rows({ module, told }: Pick<ModuleProps, 'module' | 'told'>) {
  const sheet = useSheet();
  const { name, about, settings } = module;
  const hasDials = settings.some(({ dial }) => dial !== undefined);
  return (
    <>
      <p class="quiet">
        {about}{' '}
        <button
          type="button"
          class="place"
          aria-label={`${name} in the diagram`}
          onClick={() => sheet.showInDiagram(name)}
        >
          in the diagram
        </button>
      </p>
      {told?.at.type === 'module' && <FindingHere told={told} />}
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
            <SettingRow
              key={setting.name}
              module={name}
              setting={setting}
              told={
                told?.at.type === 'setting' && told.at.setting === setting.name ? told : undefined
              }
              hasDials={hasDials}
            />
          ))}
        </tbody>
      </table>
    </>
  );
}
