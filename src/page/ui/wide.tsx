/** A container that scrolls content wider than the screen, by the keyboard too. */

import { type ComponentChildren, h } from 'preact';

export interface WideProps {
  readonly name: string;
  readonly children: ComponentChildren;
}

export function Wide({ name, children }: WideProps) {
  // A group that takes the focus, which scrolling by keys needs.
  return h('div', { class: 'wide', role: 'group', tabIndex: 0, 'aria-label': name }, children);
}
