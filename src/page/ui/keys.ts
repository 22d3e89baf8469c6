/** Keys that work wherever the focus is, unless what has it uses them itself. */

import type { Worksheet } from './worksheet.ts';

const TYPED = 'input:not([type=checkbox],[type=range]), select, textarea, [role=grid] td';
const PRESSED = 'button, a, summary, select, input:not([type=range]), textarea, audio';

export function listenToKeys(sheet: Worksheet): void {
  document.addEventListener('keydown', (event) => {
    if (event.defaultPrevented || event.altKey) return;
    const target = event.target instanceof Element ? event.target : document.body;
    if (event.ctrlKey || event.metaKey) withControl(sheet, event, target);
    else if (sheet.store.now.hasKeys) plain(sheet, event, target);
  });
}

function withControl(sheet: Worksheet, event: KeyboardEvent, target: Element): void {
  const key = event.key.toLowerCase();
  if (key === 's' && !event.shiftKey) {
    event.preventDefault();
    // What is typed and not yet taken is meant too.
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
    if (key === 'y' || event.shiftKey) sheet.redo();
    else sheet.undo();
  }
}

/** Whether it holds what is typed and not yet taken, whether it is drawn as such already or not. */
function isDraft(target: Element): boolean {
  if (!(target instanceof HTMLInputElement)) return false;
  const { text = target.value } = target.dataset;
  return target.value !== text;
}

function plain(sheet: Worksheet, event: KeyboardEvent, target: Element): void {
  // A key that is held down is pressed once.
  if (event.repeat) return;
  if (event.key === ' ' && !target.matches(PRESSED)) {
    event.preventDefault();
    sheet.toggle();
  }
  if (/^[1-9]$/.test(event.key) && !target.matches(TYPED)) {
    const version = sheet.store.now.versions[Number(event.key) - 1];
    if (version === undefined) return;
    event.preventDefault();
    sheet.hear(version);
  }
}
