/** Parts that are made alike, so that a picture of one is a picture of the other. */

import type { Block, BlockFigure } from './figures.ts';

/** The first of some figures that differs from a part's in the names of its ends alone, if any. */
export function twinOf(
  figure: BlockFigure,
  others: readonly BlockFigure[],
): BlockFigure | undefined {
  if (figure.part === '') return undefined;
  const shape = shapeOf(figure);
  return others.find((other) => other.part !== '' && shapeOf(other) === shape);
}

/** A figure as a text, with its ends by number. */
function shapeOf({ blocks, wires }: BlockFigure): string {
  const ends = blocks.filter(({ type }) => type === 'end').map(({ id }) => id);
  const nameOf = ({ block, jack }: { readonly block: string; readonly jack: string }): unknown => {
    const end = ends.indexOf(block);
    return end < 0 ? [block, jack] : end;
  };
  const modules = blocks.filter(({ type }) => type !== 'end').map(withoutPlace);
  return JSON.stringify([
    modules,
    wires.map(({ from, to, sort }) => [nameOf(from), nameOf(to), sort]),
  ]);
}

function withoutPlace({ id, type, kind, inputs, outputs }: Block): unknown {
  return [id, type, kind, inputs, outputs];
}
