/** The parts of the sheet that come as markup, with all texts in it escaped. */

import type { Parts } from '../protocol.ts';
import type { Folds } from './folds.ts';

/** Puts parts into their places, folded as a person left them. */
export function showParts(parts: Parts, folds: Folds): void {
  for (const [name, markup] of Object.entries(parts))
    for (const place of document.querySelectorAll(`[data-part="${name}"]`)) {
      const template = parsed(markup);
      folds.restore(template.content);
      replace(place, template);
    }
}

export function parsed(markup: string): HTMLTemplateElement {
  const template = document.createElement('template');
  template.innerHTML = markup;
  return template;
}

/** Replaces the content of a place; where it is the same, it is left alone, with its ticks and focus. */
export function replace(place: Element, { innerHTML, content }: HTMLTemplateElement): void {
  if (place.innerHTML !== innerHTML) place.replaceChildren(content);
}
