/**
 * Keeps the focus where a person works while that part is drawn again. A browser takes the focus from an
 * element that is removed or moved, and the next key would then act on the page as a whole.
 */

import type { RefObject } from 'preact';
import { useLayoutEffect } from 'preact/hooks';

/**
 * Gives the focus back if drawing has taken it out of a place.
 * @param place the element with the focus in it. It takes the focus itself where nothing else does;
 * `data-takes-keys` on it keeps what is then typed from the page.
 * @param heir gives the element that takes the focus if the one that had it, `lost`, is gone.
 */
export function useKeptFocus(
  place: RefObject<HTMLElement | null>,
  heir: (place: HTMLElement, lost: HTMLElement) => HTMLElement | null = () => null,
): void {
  // Read during rendering, so before anything in the document is changed.
  const { activeElement } = document;
  const held =
    activeElement instanceof HTMLElement && place.current?.contains(activeElement)
      ? activeElement
      : undefined;
  useLayoutEffect(() => {
    const { current } = place;
    // Someone else may have it by now.
    if (held === undefined || current === null || document.activeElement !== document.body) return;
    const next = held.isConnected ? held : heir(current, held);
    // The element is focused only from here, not by the Tab key.
    if (next === null) current.tabIndex = -1;
    (next ?? current).focus({ preventScroll: next === null });
  });
}
