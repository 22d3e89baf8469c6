/** Every setting of every module, module by module; on paper only their values. */

import { useLayoutEffect, useRef } from 'preact/hooks';
import { useCell } from '../../pieces/cell.ts';
import type { FindingPlace, FindingView } from '../../protocol.ts';
import { useKeptFocus } from '../kept-focus.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { GROUP, SettingGroups } from './groups.tsx';
import { Module } from './module.tsx';

/** Up to this many modules are all open at first. */
const FEW = 3;

export function SettingsPanel() {
  const all = useKnown('view')?.modules ?? [];
  const modules = all.filter(({ settings }) => settings.length > 0);
  const place = useRef<HTMLDivElement>(null);
  const { folds } = useSheet();
  // A module may move to another group, and its controls with it.
  useKeptFocus(place, (panel, { ariaLabel }) => {
    const heir = ariaLabel === null ? null : labelled(panel, ariaLabel);
    if (heir !== null) folds.reveal(heir);
    return heir;
  });
  const open = useCell<ReadonlySet<string>>(
    () =>
      new Set(
        modules.flatMap(({ name }) =>
          (folds.state(moduleFold(name)) ?? modules.length <= FEW) ? [name] : [],
        ),
      ),
  );
  const told = useKnown('told');
  const sought = useKnown('sought');
  // The place to go to; it may have to be opened first.
  const goal = useRef<FindingPlace>(undefined);
  useLayoutEffect(() => {
    if (sought === undefined || !('module' in sought.at)) return;
    const { module } = sought.at;
    goal.current = sought.at;
    open.put(new Set([...open.now, module]));
  }, [sought]);
  useLayoutEffect(() => {
    const control = goal.current && controlAt(goal.current);
    if (control === undefined) return;
    goal.current = undefined;
    folds.reveal(control);
    control.focus();
    // The finding is shown below it.
    document.querySelector('.told-at')?.scrollIntoView({ block: 'nearest' });
  });
  const toggle = (name: string, isOpen: boolean): void => {
    if (open.now.has(name) === isOpen) return;
    const next = new Set(open.now);
    if (isOpen) next.add(name);
    else next.delete(name);
    folds.note(moduleFold(name), isOpen);
    open.put(next);
  };
  const openAll = (isOpen: boolean): void => {
    folds.setAll(GROUP, isOpen);
    for (const { name } of modules) folds.note(moduleFold(name), isOpen);
    open.put(new Set(isOpen ? modules.map(({ name }) => name) : []));
  };
  return (
    <>
      <div ref={place} class="on-screen" data-takes-keys="">
        <p class="quiet">
          Enter takes a typed value; scales move by hand or by the arrow keys, far by Page Up and
          Page Down. The mark under a scale is where the setting usually stands.
        </p>
        <p class="controls">
          <button type="button" onClick={() => openAll(true)}>
            Open all
          </button>
          <button type="button" onClick={() => openAll(false)}>
            Close all
          </button>
        </p>
        <SettingGroups
          modules={modules}
          line={(module) => (
            <Module
              key={module.name}
              module={module}
              told={isAt(told, module.name) ? told : undefined}
              isOpen={open.now.has(module.name)}
              onToggle={(isOpen) => toggle(module.name, isOpen)}
            />
          )}
        />
      </div>
      <div class="paper" data-part="settings" />
    </>
  );
}

function labelled(panel: HTMLElement, label: string): HTMLElement | null {
  return panel.querySelector<HTMLElement>(`[aria-label="${CSS.escape(label)}"]`);
}

/** Whether a finding is shown at a module or at one of its settings. */
function isAt(told: FindingView | undefined, module: string): boolean {
  return told !== undefined && 'module' in told.at && told.at.module === module;
}

/** The element that takes the focus for a setting or a module, once it is drawn. */
function controlAt(at: FindingPlace): HTMLElement | undefined {
  if (!('module' in at)) return undefined;
  const module = `[data-module="${CSS.escape(at.module)}"]`;
  const path =
    at.type === 'setting'
      ? `${module} [data-setting="${CSS.escape(at.setting)}"] :is(input,select)`
      : `${module}[open]>summary`;
  return document.querySelector<HTMLElement>(path) ?? undefined;
}

/** The name of the fold of a module. */
function moduleFold(module: string): string {
  return `module, ${module}`;
}
