/**
 * A button that has nothing to do at times, and keeps the focus when that begins under the hand: a browser
 * takes the focus from what is disabled, and the next key would then be one of the page's own. The Tab key
 * passes it by. A press still reaches it, since what gives it something to do may be on its way.
 */

import type { ComponentChildren } from 'preact';

export interface SteadyButtonProps {
  readonly isOff: boolean;
  /** Does nothing, of itself, where there is nothing to do. */
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
