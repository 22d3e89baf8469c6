/**
 * A button that at times has nothing to do, and keeps the focus when that happens: a browser takes the focus
 * from a disabled element, and the next key would then act on the page as a whole. The Tab key skips it. A
 * press still reaches it, since the change that gives it something to do may be on its way.
 */

import type { ComponentChildren } from 'preact';

export interface SteadyButtonProps {
  readonly isOff: boolean;
  /** Must itself do nothing where there is nothing to do. */
  readonly onClick: () => void;
  readonly keys?: string;
  readonly children: ComponentChildren;
}

export function SteadyButton({ isOff, onClick, keys, children }: SteadyButtonProps) {
  return (
    <button
      type="button"
      aria-disabled={isOff}
      tabIndex={isOff ? -1 : 0}
      aria-keyshortcuts={keys}
      onClick={onClick}
    >
      {children}
    </button>
  );
}
