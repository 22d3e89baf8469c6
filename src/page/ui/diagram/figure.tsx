/** A picture with a caption, which scrolls by itself where the screen is narrow. */

import type { ComponentChildren } from 'preact';
import { Wide } from '../wide.tsx';

export interface FigureProps {
  readonly name: string;
  readonly caption: string;
  /** Whether the figure comes and goes, and so has no number. */
  readonly isPassing?: boolean;
  readonly children: ComponentChildren;
}

export function DiagramFigure({ name, caption, isPassing, children }: FigureProps) {
  return (
    <figure class={isPassing ? 'passing' : undefined}>
      <Wide name={name}>{children}</Wide>
      <figcaption>{caption}</figcaption>
    </figure>
  );
}
