/** The block diagrams of a sheet, as markup: drawn, or their places until they are. */

import { counted, countedEach } from '../../patch/text/counted.ts';
import { IN_PAGE } from '../chart/colours.ts';
import { blockDiagram, blockDiagramPlace, blockDiagramRows } from '../diagram/block-diagram.ts';
import type { BlockFigure } from '../diagram/figures.ts';
import { placedInRows } from '../diagram/folded.ts';
import type { PlaceFigure } from '../diagram/layout.ts';
import { twinOf } from '../diagram/twins.ts';
import { folded, Numbering } from '../document/markup.ts';
import { escaped } from '../markup.ts';

/** Draws figures. @param place lays each out; the usual way takes some hundred ms, or minutes. */
export async function diagramBody(
  figures: readonly BlockFigure[],
  numbering = new Numbering(),
  place: PlaceFigure = placedInRows,
): Promise<string> {
  const drawn: string[] = [];
  for (const [index, figure] of figures.entries()) {
    const laid = await place(figure);
    const twin = twinOf(figure, figures.slice(0, index));
    const caption = `${captionOf(figure)}${twin === undefined ? '' : asBefore(figure, twin)}${laid.isPlain ? PLAINLY : ''}`;
    const id = `diagram-${index + 1}`;
    const picture = blockDiagram(laid, caption, IN_PAGE, id);
    // Of two parts alike, paper has the first.
    const drawing =
      twin === undefined
        ? picture + blockDiagramRows(laid, id, index === 0)
        : `<div class="drawn-before">${picture}</div>`;
    drawn.push(foldOf(figure, numbering.figure(drawing, caption), figures.length));
  }
  return drawn.join('\n');
}

function asBefore({ blocks }: BlockFigure, twin: BlockFigure): string {
  const ends = blocks.filter(({ type }) => type === 'end').map(({ name }) => name);
  const between = ends.length === 0 ? '' : `; its ends are ${ends.join(', ')}`;
  return ` Modules and cables as in the part ${twin.part}${between}.`;
}

const PLAINLY = ' Laid out plainly, since it is too large to be laid out well in time.';

/** Keeps the places of figures, about as large as they will be. */
export function diagramPlaces(figures: readonly BlockFigure[]): string {
  const numbering = new Numbering();
  return figures
    .map((figure) => {
      const caption = captionOf(figure);
      const place = numbering.figure(blockDiagramPlace(figure, caption, IN_PAGE), caption);
      return foldOf(figure, place, figures.length);
    })
    .join('\n');
}

/** One figure is open to begin with: the whole patch. */
function foldOf({ part, blocks }: BlockFigure, content: string, figures: number): string {
  if (figures < 2) return content;
  const summary = `<b>${escaped(part || 'the whole patch')}</b> <span class="quiet">${contentsOf(blocks)}</span>`;
  return folded({ name: diagramFold(part), summary, content, isOpen: part === '' });
}

/** How many modules and parts it shows. */
function contentsOf(blocks: BlockFigure['blocks']): string {
  const count = (sort: 'module' | 'part'): [number, string] => [
    blocks.filter(({ type }) => type === sort).length,
    sort,
  ];
  return countedEach([count('module'), count('part')]).join(' and ');
}

/** The name of the fold that a part's diagram is in; of the whole patch it is empty. */
function diagramFold(part: string): string {
  return `diagram, ${part}`;
}

function captionOf({ part, blocks, wires }: BlockFigure): string {
  const whole = part === '' ? 'The whole patch' : `The part ${part}`;
  const ends = blocks.some(({ type }) => type === 'end')
    ? ' Rounded ends are jacks outside it.'
    : '';
  return `${whole}: ${contentsOf(blocks)}, ${counted(wires.length, 'cable')}.${ends}`;
}
