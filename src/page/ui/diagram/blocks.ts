/** From a block of a diagram to the settings of its module, and back. */

import type { Folds } from '../folds.ts';

/** Calls with the name of each block that is clicked: a module's, or a part's. */
export function onBlock(diagram: HTMLElement, act: (name: string) => void): void {
  diagram.addEventListener('click', ({ target }) => {
    if (!(target instanceof Element) || target.closest('[data-jack]') !== null) return;
    const name = target.closest<SVGElement>('[data-block]')?.dataset.block;
    if (name !== undefined) act(name);
  });
}

/**
 * Brings a block or a jack into view, and opens its diagram if need be; the focus goes to the
 * picture, which scrolls by keys.
 * @returns whether a diagram has it.
 */
export function showBlock(name: string, folds: Folds): boolean {
  const selector = `[data-island=diagram] :is([data-block="${CSS.escape(name)}"],[data-jack="${CSS.escape(name)}"])`;
  // A part's own picture comes after the one of the whole, and shows more of it.
  const mark = [...document.querySelectorAll<SVGElement>(selector)].at(-1);
  if (mark === undefined) return false;
  folds.reveal(mark);
  mark.closest<HTMLElement>('.wide')?.focus({ preventScroll: true });
  mark.scrollIntoView({ block: 'center', inline: 'center' });
  for (const one of document.querySelectorAll<SVGElement>('[data-shown]')) delete one.dataset.shown;
  mark.dataset.shown = '';
  return true;
}
