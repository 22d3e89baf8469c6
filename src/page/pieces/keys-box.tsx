/** Whether keys work, and which there are. */

import type { ComponentChildren } from 'preact';

export interface KeysBoxProps {
  readonly hasKeys: boolean;
  readonly onKeys: (hasKeys: boolean) => void;
  readonly children: ComponentChildren;
}

export function KeysBox({ hasKeys, onKeys, children }: KeysBoxProps) {
  return (
    <p class="quiet on-screen">
      <label>
        <input
          type="checkbox"
          checked={hasKeys}
          onChange={({ currentTarget }) => onKeys(currentTarget.checked)}
        />{' '}
        Keys:
      </label>{' '}
      {children}
    </p>
  );
}
