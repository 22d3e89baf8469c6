/** Every setting of every module, module by module; on paper their values alone. */

import { useRef, useState } from 'preact/hooks';
import { counted } from '../../../patch/text/counted.ts';
import type { ModuleView } from '../../protocol.ts';
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
            isOpen={open.has(module.name)}
            onToggle={(isOpen) => toggle(module.name, isOpen)}
          />
        ))}
      </div>
      <div class="paper" data-part="settings" />
    </>
  );
}

function matches({ name, kind, settings }: ModuleView, words: string): boolean {
  const text = [name, kind, ...settings.map((setting) => setting.name)].join(' ').toLowerCase();
  return words
    .toLowerCase()
    .split(/\s+/)
    .every((word) => text.includes(word));
}
