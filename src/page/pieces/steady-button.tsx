/**
 * A button that cannot be used at times, and keeps the focus when that begins under the hand: a browser
 * takes the focus from what is disabled, and the next key would then be one of the page's own. Once the
 * focus has left it, the Tab key passes it by.
 */

import type { ComponentChildren } from 'preact';
import { useCell } from './cell.ts';

export interface SteadyButtonProps {
  readonly isOff: boolean;
  /** Does nothing, of itself, where there is nothing to do. */
  readonly onClick: () => void;
  readonly keys?: string;
  readonly children: ComponentChildren;
}

export function SteadyButton({ isOff, onClick, keys, children }: SteadyButtonProps) {
  const hasFocus = useCell(() => false);
  return (
    <button
      type="button"
      disabled={isOff && !hasFocus.now}
      aria-disabled={isOff}
      aria-keyshortcuts={keys}
      onFocus={() => hasFocus.put(true)}
      onBlur={() => hasFocus.put(false)}
      onClick={onClick}
    >
      {children}
    </button>
  );
}
