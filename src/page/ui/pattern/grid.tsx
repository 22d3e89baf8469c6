/** A table whose cells are reached one by one, by arrow keys: a grid as WAI-ARIA defines it. */

import { type ComponentChildren, h, type RefObject } from 'preact';

export interface GridProps {
  readonly table: RefObject<HTMLTableElement | null>;
  readonly name: string;
  readonly onKeyDown: (event: KeyboardEvent) => void;
  readonly onClick: (event: Event) => void;
  readonly onFocusIn: (event: Event) => void;
  readonly children: ComponentChildren;
}

export function StepGrid({ table, name, children, ...hands }: GridProps) {
  // Its rows and cells become those of a grid by that role alone (HTML Accessibility API Mappings, td).
  return h(
    'table',
    {
      ref: table as RefObject<HTMLTableElement>,
      class: 'tab',
      role: 'grid',
      'aria-label': name,
      ...hands,
    },
    children,
  );
}
