/** A checkbox that turns the keys on, with a list of them. */

import type { ComponentChildren } from 'preact';
import { Checkbox } from './checkbox.tsx';

export interface KeysBoxProps {
  readonly hasKeys: boolean;
  readonly onKeys: (hasKeys: boolean) => void;
  readonly children: ComponentChildren;
}

export function KeysBox({ hasKeys, onKeys, children }: KeysBoxProps) {
  return (
    <p class="quiet on-screen">
      <Checkbox isOn={hasKeys} onTurn={onKeys}>
        Keys:
      </Checkbox>{' '}
      {children}
    </p>
  );
}
