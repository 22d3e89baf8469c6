/**
 * Keeps the focus where a hand works while what is under it is drawn again. A browser takes the focus
 * from an element that is removed or moved, and the next key would then be one of the page's own.
 */

import type { RefObject } from 'preact';
import { useLayoutEffect } from 'preact/hooks';

/**
 * Gives the focus back if drawing has taken it out of a place.
 * @param place what has the focus in it. It takes it itself where nothing else does; `data-takes-keys`
 * on it keeps what is then typed from the page.
 * @param heir what takes it if the element that had it, `lost`, is gone.
 */
export function useKeptFocus(
  place: RefObject<HTMLElement | null>,
  heir: (place: HTMLElement, lost: HTMLElement) => HTMLElement | null = () => null,
): void {
  // Read while the component is drawn, so before anything in the document is touched.
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
    // Nobody comes here by the Tab key or the mouse.
    if (next === null) current.tabIndex = -1;
    (next ?? current).focus({ preventScroll: next === null });
  });
}
