/** The modules by voice: each voice a fold, with the count of its settings. */

import type { ComponentChildren } from 'preact';
import { SHARED } from '../../../output/voices.ts';
import { counted } from '../../../patch/text/counted.ts';
import type { ModuleView } from '../../protocol.ts';
import { Sign } from '../finding.tsx';
import { useKnown, useSheet } from '../use-sheet.ts';

/** The prefix of the names of these folds. */
export const GROUP = 'settings, ';

export interface SettingGroupsProps {
  /** The modules that have settings. */
  readonly modules: readonly ModuleView[];
  readonly line: (module: ModuleView) => ComponentChildren;
}

export function SettingGroups({ modules, line }: SettingGroupsProps) {
  const { folds } = useSheet();
  const view = useKnown('view');
  const told = useKnown('told');
  const voices = view?.voices ?? [];
  if (voices.length < 2) return <>{modules.map(line)}</>;
  const named = [
    ...voices.map(({ name, modules: own }) => ({ name, own })),
    { name: SHARED, own: view?.shared ?? [] },
  ];
  return (
    <>
      {named.map(({ name, own }) => {
        const ours = new Set(own);
        const here = modules.filter((module) => ours.has(module.name));
        if (here.length === 0) return null;
        const settings = here.reduce((sum, module) => sum + module.settings.length, 0);
        const isTold = told !== undefined && 'module' in told.at && ours.has(told.at.module);
        return (
          // Opened and shut by a person and by the folds, never by a redraw.
          <details
            key={name}
            class="voice"
            data-fold={`${GROUP}${name}`}
            ref={(fold) => {
              if (fold !== null) folds.restoreOne(fold);
            }}
          >
            <summary>
              {isTold && <Sign severity={told.severity} />}
              <b>{name}</b>{' '}
              <span class="quiet">
                {counted(here.length, 'module')}, {counted(settings, 'setting')}
              </span>
            </summary>
            {here.map(line)}
          </details>
        );
      })}
    </>
  );
}
