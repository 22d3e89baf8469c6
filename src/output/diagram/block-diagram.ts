/**
 * Draws block diagrams: modules as boxes with the jacks that have a plug, wires with arrows. Sound is a
 * heavy line, control volts dashed, gates dotted, so that no colour is needed to tell them apart.
 */

import type { Sort } from '../../electrical/sorts.ts';
import {
  brief,
  type Drawing,
  element,
  FONT_PX,
  LETTERS,
  label,
  svgPicture,
} from '../chart/chart-svg.ts';
import type { ChartColours } from '../chart/colours.ts';
import { escaped } from '../markup.ts';
import type { BlockFigure } from './figures.ts';
import { foldedRoom } from './folded.ts';
import {
  NAME_ROOM_PX,
  nameWidth,
  type PixelSize,
  type PlacedBlock,
  type PlacedFigure,
  type PlacedJack,
  type PlacedWire,
  ROW_PX,
  SMALL_PX,
} from './layout.ts';
import { LOOKS } from './looks.ts';
import { roomFor } from './room.ts';

const ARROW_PX = 7;
const LEGEND_PX = 34;
/** Around a figure, px. */
const EDGE_PX = 4;

/**
 * Draws a figure.
 * @param name what it shows, for those who do not see it.
 * @param id of what is drawn, for {@link blockDiagramRows}; none unless given.
 */
export function blockDiagram(
  figure: PlacedFigure,
  name: string,
  colours: ChartColours,
  id?: string,
): string {
  const body = [
    ...cables(figure, colours),
    ...figure.blocks.map((block) => blockBox(block, figure.part, colours)),
    legend(figure, colours),
  ].join('\n');
  const drawing: Drawing = {
    ...withLegend(figure, figure),
    body: id === undefined ? body : element('g', { id }, body),
  };
  return svgPicture(drawing, name, colours, EDGE_PX);
}

/**
 * A figure that is folded once more, each row of it a picture, so that a page of paper can end between
 * two; nothing for one that is not.
 * @param id under which {@link blockDiagram} has drawn it, in the same page.
 * @param hasLegend whether the last row says what the lines are.
 */
export function blockDiagramRows(figure: PlacedFigure, id: string, hasLegend: boolean): string {
  const { breaks = [] } = figure;
  if (breaks.length === 0) return '';
  const { width, height } = withLegend(figure, figure);
  const edges = [-EDGE_PX, ...breaks, (hasLegend ? height : figure.height) + EDGE_PX];
  return breaks
    .concat(height)
    .map((_, row) => {
      const [top, bottom] = [edges[row] as number, edges[row + 1] as number];
      const size = { width: width + 2 * EDGE_PX, height: bottom - top };
      const viewBox = [-EDGE_PX, top, size.width, size.height].map(brief).join(' ');
      return element(
        'svg',
        {
          class: 'paper row',
          viewBox,
          ...size,
          'aria-hidden': 'true',
          'font-family': LETTERS,
          'font-size': FONT_PX,
          fill: 'var(--ink)',
        },
        element('use', { href: `#${id}` }),
      );
    })
    .join('');
}

/** Keeps the place of a figure that is yet to be laid out: a picture of about its size. */
export function blockDiagramPlace(
  figure: BlockFigure,
  name: string,
  colours: ChartColours,
): string {
  const words = label('The diagram is being drawn.', 0, FONT_PX, { class: 'undrawn' });
  return svgPicture(
    { ...withLegend(figure, foldedRoom(roomFor(figure))), body: words },
    name,
    colours,
    EDGE_PX,
  );
}

function withLegend(figure: BlockFigure, { width, height }: PixelSize): PixelSize {
  return { width: Math.max(width, legendWidth(figure)), height: height + LEGEND_PX };
}

function colourOf(sort: Sort, { series }: ChartColours): string {
  return series[LOOKS[sort].series] as string;
}

/** px of paper at either side of a wire, where it crosses another. */
const HALO_PX = 2.5;
/** px in which a pointer finds a wire. */
const REACH_PX = 11;

/**
 * The wires, each with a halo that parts it from those drawn before. Wires of one output run together
 * for a while, so their halos come before all of them.
 */
function cables({ blocks, wires }: PlacedFigure, colours: ChartColours): readonly string[] {
  const wholes = new Map(
    blocks.flatMap(({ id, jacks }) =>
      jacks.map(({ name, side, whole }) => [JSON.stringify([id, side, name]), whole] as const),
    ),
  );
  const nameOf = ({ block, jack }: PlacedWire['from'], side: PlacedJack['side']): string =>
    wholes.get(JSON.stringify([block, side, jack])) ?? jack;
  const outputs = new Map<string, PlacedWire[]>();
  for (const wire of wires) {
    const name = nameOf(wire.from, 'out');
    outputs.set(name, [...(outputs.get(name) ?? []), wire]);
  }
  return [...outputs].flatMap(([from, together]) => [
    ...together.map((wire) =>
      wireStroke(wire, colours.paper, LOOKS[wire.sort].width + 2 * HALO_PX),
    ),
    ...together.map((wire) => {
      const to = nameOf(wire.to, 'in');
      return element(
        'g',
        { class: 'wire', 'data-from': from, 'data-to': to },
        element('title', {}, escaped(`${from} to ${to}`)),
        wirePath(wire, colours),
        wireStroke(wire, 'transparent', REACH_PX),
      );
    }),
  ]);
}

function wireStroke({ points }: PlacedWire, stroke: string, width: number): string {
  if (points.length === 0) return '';
  return element('path', { d: lineOf(points), fill: 'none', stroke, 'stroke-width': width });
}

function lineOf(points: PlacedWire['points']): string {
  return `M${points.map(([x, y]) => `${brief(x)} ${brief(y)}`).join('L')}`;
}

function wirePath({ points, sort }: PlacedWire, colours: ChartColours): string {
  const last = points.at(-1);
  if (last === undefined) return '';
  const { width, dash } = LOOKS[sort];
  const [x, y] = last;
  const stroke = colourOf(sort, colours);
  return (
    element('path', {
      class: 'line',
      d: lineOf(points),
      fill: 'none',
      stroke,
      'stroke-width': width,
      'stroke-dasharray': dash,
      'stroke-linejoin': 'round',
    }) + arrow(x, y, stroke)
  );
}

/** Wires end at inputs, which are at the left of their blocks. */
function arrow(x: number, y: number, fill: string): string {
  const left = brief(x - ARROW_PX);
  return element('path', {
    d: `M${brief(x)} ${brief(y)}L${left} ${brief(y - 3.6)}V${brief(y + 3.6)}Z`,
    fill,
  });
}

/** @param part the figure's: with it the block has its name in the patch. */
function blockBox(block: PlacedBlock, part: string, colours: ChartColours): string {
  const { id, x, y, width, height, type, name, kind, jacks } = block;
  if (type === 'end') {
    const box = { x, y, width, height, rx: height / 2, fill: colours.paper, stroke: colours.faint };
    const middle = { 'text-anchor': 'middle', 'font-size': SMALL_PX } as const;
    const words = label(name, x + width / 2, y + height / 2 + 3.6, middle);
    return (
      element('rect', box) +
      jacks.map((jack) => jackMark(jack, { x, y, width, height }, words)).join('')
    );
  }
  const box = (inset: number): string =>
    element('rect', {
      x: x + inset,
      y: y + inset,
      width: width - 2 * inset,
      height: height - 2 * inset,
      fill: inset === 0 ? colours.paper : 'none',
      stroke: colours.ink,
      'stroke-width': inset === 0 ? 1.2 : 0.7,
    });
  const middle = { 'text-anchor': 'middle' } as const;
  return [
    element(
      'g',
      { class: 'block', 'data-block': part === '' ? id : `${part}.${id}` },
      box(0),
      // A part has a second outline.
      type === 'part' ? box(3) : '',
      label(name, x + width / 2, y + 16, { ...middle, 'font-weight': 600 }),
      label(kind, x + width / 2, y + 29, {
        ...middle,
        'font-size': SMALL_PX,
        'font-style': 'italic',
      }),
    ),
    ...jacks.map((jack) => {
      const words = label(jack.name, jack.x + (jack.side === 'in' ? 6 : -6), jack.y + 3.6, {
        'font-size': SMALL_PX,
        'text-anchor': jack.side === 'in' ? 'start' : 'end',
      });
      return jackMark(jack, jackArea(jack, block), words);
    }),
  ].join('');
}

interface Area {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** A jack's row: all of it, or half of the room between the names where there is one at the other side. */
function jackArea({ name, side, x, y }: PlacedJack, { width, jacks }: PlacedBlock): Area {
  const isShared = jacks.some((other) => other.side !== side && other.y === y);
  const wide = isShared ? nameWidth(name) + NAME_ROOM_PX / 2 : width;
  return { x: side === 'in' ? x : x - wide, y: y - ROW_PX / 2, width: wide, height: ROW_PX };
}

/** A jack for a hand to point at, by its name in the patch. */
function jackMark({ whole }: PlacedJack, area: Area, words: string): string {
  return element(
    'g',
    { class: 'jack', 'data-jack': whole },
    element('title', {}, escaped(whole)),
    element('rect', { ...area, fill: 'transparent' }),
    words,
  );
}

const SAMPLE_PX = 34;

function legendWords({ blocks, wires }: BlockFigure): { sorts: Sort[]; hasPart: boolean } {
  const sorts = (['gate', 'control', 'audio'] as const).filter((sort) =>
    wires.some((wire) => wire.sort === sort),
  );
  return { sorts, hasPart: blocks.some(({ type }) => type === 'part') };
}

function entryWidth(words: string): number {
  return SAMPLE_PX + 10 + words.length * 6 + 18;
}

const PART_WORDS = 'part, drawn by itself below';

function legendWidth(figure: BlockFigure): number {
  const { sorts, hasPart } = legendWords(figure);
  const words = [...sorts.map((sort) => LOOKS[sort].words), ...(hasPart ? [PART_WORDS] : [])];
  return words.reduce((sum, one) => sum + entryWidth(one), 0);
}

function legend(figure: PlacedFigure, colours: ChartColours): string {
  const { sorts, hasPart } = legendWords(figure);
  const y = figure.height + LEGEND_PX - 8;
  let x = 0;
  const entries = sorts.map((sort) => {
    const { words } = LOOKS[sort];
    const points = [[x, y] as const, [x + SAMPLE_PX, y] as const];
    const end = { block: '', jack: '' };
    const drawn = wirePath({ points, sort, from: end, to: end }, colours);
    const text = label(words, x + SAMPLE_PX + 8, y + 4, { 'font-size': SMALL_PX });
    x += entryWidth(words);
    return drawn + text;
  });
  if (!hasPart) return entries.join('');
  const outline = (inset: number): string =>
    element('rect', {
      x: x + inset,
      y: y - 8 + inset,
      width: SAMPLE_PX - 2 * inset,
      height: 16 - 2 * inset,
      fill: 'none',
      stroke: colours.ink,
      'stroke-width': inset === 0 ? 1.2 : 0.7,
    });
  const part = label(PART_WORDS, x + SAMPLE_PX + 8, y + 4, { 'font-size': SMALL_PX });
  return [...entries, outline(0), outline(3), part].join('');
}
