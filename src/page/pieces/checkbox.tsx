/** A checkbox with its label. */

import type { ComponentChildren } from 'preact';

export interface CheckboxProps {
  readonly isOn: boolean;
  readonly onTurn: (isOn: boolean) => void;
  readonly children: ComponentChildren;
}

export function Checkbox({ isOn, onTurn, children }: CheckboxProps) {
  return (
    <label>
      <input
        type="checkbox"
        checked={isOn}
        onChange={({ currentTarget }) => onTurn(currentTarget.checked)}
      />{' '}
      {children}
    </label>
  );
}
