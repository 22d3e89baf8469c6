/** The block diagrams of a sheet, as markup: drawn, or their places until they are. */

import { counted, countedEach } from '../../patch/text/counted.ts';
import { IN_PAGE } from '../chart/colours.ts';
import { blockDiagram, blockDiagramPlace } from '../diagram/block-diagram.ts';
import type { BlockFigure } from '../diagram/figures.ts';
import { type PlaceFigure, placed } from '../diagram/layout.ts';
import { Numbering } from '../document/markup.ts';

/** Draws figures. @param place lays each out; the usual way takes some hundred ms, or minutes. */
export async function diagramBody(
  figures: readonly BlockFigure[],
  numbering = new Numbering(),
  place: PlaceFigure = placed,
): Promise<string> {
  const drawn: string[] = [];
  for (const figure of figures) {
    const laid = await place(figure);
    const caption = `${captionOf(figure)}${laid.isPlain ? PLAINLY : ''}`;
    drawn.push(numbering.figure(blockDiagram(laid, caption, IN_PAGE), caption));
  }
  return drawn.join('\n');
}

const PLAINLY = ' Laid out plainly, since it is too large to be laid out well in time.';

/** Keeps the places of figures, about as large as they will be. */
export function diagramPlaces(figures: readonly BlockFigure[]): string {
  const numbering = new Numbering();
  return figures
    .map((figure) => {
      const caption = captionOf(figure);
      return numbering.figure(blockDiagramPlace(figure, caption, IN_PAGE), caption);
    })
    .join('\n');
}

function captionOf({ part, blocks, wires }: BlockFigure): string {
  const modules = blocks.filter(({ type }) => type === 'module').length;
  const parts = blocks.filter(({ type }) => type === 'part').length;
  const what = countedEach([
    [modules, 'module'],
    [parts, 'part'],
  ]);
  const whole = part === '' ? 'The whole patch' : `The part ${part}`;
  const ends = blocks.some(({ type }) => type === 'end')
    ? ' Rounded ends are jacks outside it.'
    : '';
  return `${whole}: ${what.join(' and ')}, ${counted(wires.length, 'cable')}.${ends}`;
}
