/** Every setting of every module, module by module; on paper their values alone. */

import { useLayoutEffect, useRef, useState } from 'preact/hooks';
import { counted } from '../../../patch/text/counted.ts';
import type { FindingPlace, FindingView, ModuleView } from '../../protocol.ts';
import { useKeptFocus } from '../kept-focus.ts';
import { useKnown } from '../use-sheet.ts';
import { Module } from './module.tsx';

/** So few modules are all open to begin with. */
const FEW = 3;

export function SettingsPanel() {
  const all = useKnown('view')?.modules ?? [];
  const modules = all.filter(({ settings }) => settings.length > 0);
  const place = useRef<HTMLDivElement>(null);
  useKeptFocus(place);
  const [words, setWords] = useState('');
  const [open, setOpen] = useState<ReadonlySet<string>>(
    () => new Set(modules.length <= FEW ? modules.map(({ name }) => name) : []),
  );
  const found = modules.filter((module) => matches(module, words));
  const told = useKnown('told');
  const sought = useKnown('sought');
  // What is yet to be gone to; it may have to be opened first.
  const goal = useRef<FindingPlace>(undefined);
  useLayoutEffect(() => {
    if (sought === undefined || !('module' in sought.at)) return;
    const { module } = sought.at;
    goal.current = sought.at;
    setWords('');
    setOpen((before) => new Set([...before, module]));
  }, [sought]);
  useLayoutEffect(() => {
    const control = goal.current && controlAt(goal.current);
    if (control === undefined) return;
    goal.current = undefined;
    control.focus();
    // What is told of it stands below it.
    document.querySelector('.told-at')?.scrollIntoView({ block: 'nearest' });
  });
  const toggle = (name: string, isOpen: boolean): void =>
    setOpen((before) => {
      if (before.has(name) === isOpen) return before;
      const next = new Set(before);
      if (isOpen) next.add(name);
      else next.delete(name);
      return next;
    });
  return (
    <>
      <div ref={place} class="on-screen" data-takes-keys="">
        <p class="quiet">
          Enter takes a typed value; scales move by hand or by the arrow keys, far by Page Up and
          Page Down. The mark under a scale is where the setting usually stands.
        </p>
        <p class="controls">
          <label>
            Find{' '}
            <input
              type="search"
              value={words}
              placeholder="module, kind or setting"
              onInput={({ currentTarget }) => setWords(currentTarget.value)}
            />
          </label>
          <button type="button" onClick={() => setOpen(new Set(found.map(({ name }) => name)))}>
            Open all
          </button>
          <button type="button" onClick={() => setOpen(new Set())}>
            Close all
          </button>
          <span class="quiet" role="status">
            {words === ''
              ? ''
              : `${found.length} of ${counted(modules.length, 'module')} with settings`}
          </span>
        </p>
        {found.map((module) => (
          <Module
            key={module.name}
            module={module}
            told={isAt(told, module.name) ? told : undefined}
            isOpen={open.has(module.name)}
            onToggle={(isOpen) => toggle(module.name, isOpen)}
          />
        ))}
      </div>
      <div class="paper" data-part="settings" />
    </>
  );
}

/** Whether a finding is told at a module or at one of its settings. */
function isAt(told: FindingView | undefined, module: string): boolean {
  return told !== undefined && 'module' in told.at && told.at.module === module;
}

/** What takes the focus for a setting or a module, once it is there. */
function controlAt(at: FindingPlace): HTMLElement | undefined {
  if (!('module' in at)) return undefined;
  const module = `[data-module="${CSS.escape(at.module)}"]`;
  const path =
    at.type === 'setting'
      ? `${module} [data-setting="${CSS.escape(at.setting)}"] :is(input,select)`
      : `${module}[open]>summary`;
  return document.querySelector<HTMLElement>(path) ?? undefined;
}

function matches({ name, kind, settings }: ModuleView, words: string): boolean {
  const text = [name, kind, ...settings.map((setting) => setting.name)].join(' ').toLowerCase();
  return words
    .toLowerCase()
    .split(/\s+/)
    .every((word) => text.includes(word));
}
