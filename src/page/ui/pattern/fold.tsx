/** A fold whose contents are made when it is first opened. */

import type { ComponentChildren } from 'preact';
import { useCell } from '../../pieces/cell.ts';

export interface FoldProps {
  readonly words: string;
  readonly children: () => ComponentChildren;
}

export function Fold({ words, children }: FoldProps) {
  const isOpen = useCell(() => false);
  return (
    <details
      class="lines"
      open={isOpen.now}
      onToggle={({ currentTarget }) => isOpen.put(currentTarget.open)}
    >
      <summary>{words}</summary>
      {isOpen.now && children()}
    </details>
  );
}
