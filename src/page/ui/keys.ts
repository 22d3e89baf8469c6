/** Keys that work wherever the focus is, unless the focused element uses them itself. */

import { isPressed, isTyped, onPlainKey } from '../pieces/keys.ts';
import type { Worksheet } from './worksheet.ts';

export function listenToKeys(sheet: Worksheet): void {
  document.addEventListener('keydown', (event) => {
    if (event.defaultPrevented || event.altKey || !(event.ctrlKey || event.metaKey)) return;
    withControl(sheet, event, event.target instanceof Element ? event.target : document.body);
  });
  onPlainKey((key, target, event) => {
    if (sheet.store.now.hasKeys) plain(sheet, key, target, event);
  });
}

function withControl(sheet: Worksheet, event: KeyboardEvent, target: Element): void {
  const key = event.key.toLowerCase();
  if (key === 's' && !event.shiftKey) {
    event.preventDefault();
    // Text that is typed and not sent yet is part of it.
    if (target instanceof HTMLElement && isDraft(target)) {
      target.blur();
      target.focus();
    }
    if (!event.repeat) void sheet.save();
    return;
  }
  // A field being typed in has an undo of its own.
  if (isDraft(target) || target.matches('form input, [type=search]')) return;
  if (key === 'z' || key === 'y') {
    event.preventDefault();
    if (key === 'y' || event.shiftKey) void sheet.redo();
    else void sheet.undo();
  }
}

/** Whether a field holds text that is not sent yet, even if it is not drawn as such yet. */
function isDraft(target: Element): boolean {
  if (!(target instanceof HTMLInputElement)) return false;
  const { text = target.value } = target.dataset;
  return target.value !== text;
}

function plain(sheet: Worksheet, key: string, target: Element, event: KeyboardEvent): void {
  if (key === ' ' && !isPressed(target)) {
    event.preventDefault();
    sheet.toggle();
  }
  const { trial } = sheet.store.now;
  if (trial !== undefined) {
    const heard = ({ '1': 'first', x: 'x', '2': 'second' } as const)[key.toLowerCase()];
    if (heard === undefined || isTyped(target)) return;
    event.preventDefault();
    sheet.keeping.blind.hear(heard);
    return;
  }
  if (key === '/' && !isTyped(target)) {
    event.preventDefault();
    document.querySelector<HTMLElement>('.find input')?.focus();
    return;
  }
  if (key.toLowerCase() === 'k' && !event.shiftKey && !isTyped(target)) {
    event.preventDefault();
    void sheet.keeping.keep('');
    return;
  }
  if (/^[a-z]$/i.test(key) && !isTyped(target) && sheet.chapters.byKey(key, event.shiftKey))
    event.preventDefault();
  if (/^[1-9]$/.test(key) && !isTyped(target)) {
    const version = sheet.store.now.versions[Number(key) - 1];
    if (version === undefined) return;
    event.preventDefault();
    void sheet.keeping.hear(version);
  }
}
