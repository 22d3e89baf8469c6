/** A line that opens; what is in it is there once it has been opened. */

import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';

export interface FoldProps {
  readonly words: string;
  readonly children: () => ComponentChildren;
}

export function Fold({ words, children }: FoldProps) {
  const [isOpen, setOpen] = useState(false);
  return (
    <details
      class="lines"
      open={isOpen}
      onToggle={({ currentTarget }) => setOpen(currentTarget.open)}
    >
      <summary>{words}</summary>
      {isOpen && children()}
    </details>
  );
}
