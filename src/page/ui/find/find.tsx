/** Finds a module, a setting, a jack or a cable, and opens the fold that it is in. */

import { useLayoutEffect, useRef } from 'preact/hooks';
import { useCell } from '../../pieces/cell.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { type Found, type FoundSection, foundWords, search } from './search.ts';

/** The most results shown; typing another letter makes them fewer. */
const MOST = 30;

export function Find() {
  const sheet = useSheet();
  const view = useKnown('view');
  const words = useCell(() => '');
  const place = useRef<HTMLDivElement>(null);
  const all = view === undefined ? [] : search(view, sections(), words.now);
  const found = all.slice(0, MOST);
  // Scroll the results into view, since the field may be at the lower edge of the screen.
  useLayoutEffect(() => {
    place.current?.querySelector('.found')?.scrollIntoView({ block: 'nearest' });
  }, [words.now === '']);
  const go = (one: Found): void => {
    words.put('');
    open(one);
  };
  const open = (one: Found): void => {
    switch (one.type) {
      case 'voice':
        sheet.setVoice(one.name);
        place.current?.querySelector('input')?.focus();
        break;
      case 'module':
        sheet.seek({ type: 'module', module: one.module });
        break;
      case 'setting':
        sheet.seek({ type: 'setting', module: one.module, setting: one.setting });
        break;
      case 'cable':
        sheet.seek({ type: 'cable', from: one.from, to: one.to });
        break;
      case 'jack':
        sheet.showInDiagram(one.jack);
        break;
      case 'section':
        goTo(one.id);
    }
  };
  const move = (event: KeyboardEvent, by: number): void => {
    const { current } = place;
    if (current === null) return;
    event.preventDefault();
    const stops = [...current.querySelectorAll<HTMLElement>('input,li button')];
    const at = stops.indexOf(document.activeElement as HTMLElement);
    stops[Math.min(Math.max(at + by, 0), stops.length - 1)]?.focus();
  };
  const byKeys = (event: KeyboardEvent): void => {
    if (event.key === 'ArrowDown') move(event, 1);
    if (event.key === 'ArrowUp') move(event, -1);
    if (event.key !== 'Escape') return;
    words.put('');
    place.current?.querySelector('input')?.focus();
  };
  return (
    <div ref={place} class="find on-screen" data-takes-keys="">
      <label>
        Find{' '}
        <input
          type="search"
          aria-keyshortcuts="/"
          value={words.now}
          placeholder="module, setting, jack, cable"
          onInput={({ currentTarget }) => words.put(currentTarget.value)}
          onKeyDown={(event) => {
            if (event.key === 'Enter' && !event.isComposing) {
              // Read from the field itself: Enter may come before the last letter is drawn.
              const now = sheet.store.now.view;
              const [first] =
                now === undefined ? [] : search(now, sections(), event.currentTarget.value);
              if (first !== undefined) go(first);
            }
            byKeys(event);
          }}
        />
      </label>
      <span class="unseen" role="status">
        {words.now === '' ? '' : counts(all.length)}
      </span>
      {words.now !== '' && (
        <div class="found">
          <p class="quiet">
            {counts(all.length)}
            {all.length > MOST && `; the first ${MOST} are here`}
          </p>
          <ul>
            {found.map((one) => {
              const [what, name, more] = foundWords(one);
              return (
                <li key={`${what} ${name}`}>
                  <button type="button" onClick={() => go(one)} onKeyDown={byKeys}>
                    <span class="quiet">{what}</span> {name} <span class="quiet">{more}</span>
                  </button>
                </li>
              );
            })}
          </ul>
        </div>
      )}
    </div>
  );
}

function sections(): readonly FoundSection[] {
  return [...document.querySelectorAll('main h2[id]')].map(({ id, textContent }) => ({
    id,
    words: textContent ?? '',
  }));
}

/** Scrolls to a heading, and moves the focus there. */
function goTo(id: string): void {
  const heading = document.getElementById(id);
  if (heading === null) return;
  heading.tabIndex = -1;
  heading.focus();
}

function counts(count: number): string {
  return count === 0 ? 'Nothing has that name.' : `${count} found`;
}
