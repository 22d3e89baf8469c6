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
  if (place.innerHTML === innerHTML) return;
  const { activeElement } = document;
  // A hand that goes from tick to tick would press another next.
  const heir = place.contains(activeElement) ? likeIn(content, activeElement) : null;
  place.replaceChildren(content);
  heir?.focus({ preventScroll: true });
}

/** What stands for an element now: the tick of its cable, the head of its fold, or what is named like it. */
function likeIn(content: DocumentFragment, element: Element | null): HTMLElement | null {
  if (!(element instanceof HTMLElement)) return null;
  const named = (attribute: string, from: Element = element): string | undefined =>
    from.hasAttribute(attribute)
      ? `[${attribute}="${CSS.escape(from.getAttribute(attribute) ?? '')}"]`
      : undefined;
  const fold = element.matches('[data-fold]>summary') ? element.parentElement : null;
  const of = fold
    ? `${named('data-fold', fold)}>summary`
    : (named('data-cable') ?? named('aria-label'));
  return of === undefined ? null : content.querySelector<HTMLElement>(of);
}
