/**
 * Keeps the focus near when the element that has it is removed: a row, or a notice that is answered. A browser
 * would leave it nowhere, so that the next key would act on the page as a whole. The next element takes it,
 * unless a component chooses another.
 */

const FOCUSABLE =
  ':is(a[href],button,input,select,textarea,summary,[tabindex="0"]):not(:disabled,[aria-disabled=true],[type=hidden])';

/** Follows the focus of a document from now on. */
export function rescueFocus(document: Document): void {
  let held: Element | undefined;
  let isByKey = false;
  document.addEventListener('focusin', ({ target }) => {
    held = target instanceof Element ? target : undefined;
  });
  // A person who presses beside all controls wants no focus.
  document.addEventListener('pointerdown', () => {
    held = undefined;
    isByKey = false;
  });
  document.addEventListener(
    'keydown',
    () => {
      isByKey = true;
    },
    true,
  );
  new MutationObserver((changes) => {
    if (held === undefined || document.activeElement !== document.body) return;
    const heir = heirOf(held, changes);
    if (heir === undefined) return;
    heir.focus({ preventScroll: true });
    requestAnimationFrame(() => {
      // For a pointer user the page must not scroll.
      if (isByKey && document.activeElement === heir) heir.scrollIntoView({ block: 'nearest' });
    });
  }).observe(document, { subtree: true, childList: true });
}

/** The element itself if it was only moved; otherwise the one after its place, or else the one before. */
function heirOf(held: Element, changes: readonly MutationRecord[]): HTMLElement | undefined {
  const change = changes.find(({ removedNodes }) =>
    [...removedNodes].some((node) => node.contains(held)),
  );
  if (change === undefined) return undefined;
  if (held.isConnected) return held instanceof HTMLElement ? held : undefined;
  const { previousSibling, nextSibling, target } = change;
  for (let after = nextSibling; after !== null; after = after.nextSibling) {
    const heir = firstIn(after);
    if (heir !== undefined) return heir;
  }
  for (let before = previousSibling; before !== null; before = before.previousSibling) {
    const heir = firstIn(before);
    if (heir !== undefined) return heir;
  }
  // Further around: the next control in the document, or the last one.
  const all = [...(target.ownerDocument?.querySelectorAll<HTMLElement>(FOCUSABLE) ?? [])].filter(
    isThere,
  );
  const isAfter = (one: Node): boolean =>
    (target.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING) !== 0;
  return all.find(isAfter) ?? all.at(-1);
}

function firstIn(node: Node): HTMLElement | undefined {
  if (!(node instanceof HTMLElement)) return undefined;
  const all = [node, ...node.querySelectorAll<HTMLElement>(FOCUSABLE)];
  return all.find((one) => one.matches(FOCUSABLE) && isThere(one));
}

function isThere(element: HTMLElement): boolean {
  return element.checkVisibility({ visibilityProperty: true });
}
