/** What may be wider than a narrow screen scrolls by itself, by the keyboard too. */

import { type ComponentChildren, h } from 'preact';

export interface WideProps {
  readonly name: string;
  readonly children: ComponentChildren;
}

export function Wide({ name, children }: WideProps) {
  // A group that takes the focus, as scrolling by keys needs it.
  return h('div', { class: 'wide', role: 'group', tabIndex: 0, 'aria-label': name }, children);
}
