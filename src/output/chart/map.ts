/**
 * A map: two settings as axes, and at each crossing a measure as a tone, the most being the darkest. The
 * figures stand in the fields where there is room, so that nobody has to judge a grey.
 */

import { withDoubt } from '../../measure/doubt.ts';
import { type Drawing, element, FONT_PX, LETTER_PX, label } from './chart-svg.ts';
import type { ChartColours } from './colours.ts';
import { broken, widthOf } from './letters.ts';

/** What was measured at a crossing, and whether the measure itself doubts it. */
export interface MapField {
  readonly value: number;
  readonly isDoubted: boolean;
}

export interface MapOptions {
  readonly title: string;
  /** What lies along an axis, and the values in their order. */
  readonly x: { readonly label: string; readonly values: readonly string[] };
  readonly y: { readonly label: string; readonly values: readonly string[] };
  /** Row by row, from the first value of y; null where nothing could be measured. */
  readonly fields: readonly (readonly (MapField | null)[])[];
  /** The ends of the tones, the same for maps that stand side by side; what is beyond has the tone of the end. */
  readonly range: readonly [least: number, most: number];
  /** A figure as it stands in a field, without its unit. */
  readonly figure: (value: number) => string;
  /** Of the whole drawing, px. */
  readonly width: number;
  readonly colours: ChartColours;
}

const TITLE = 22;
const AXIS = 34;
const ROW = 20;
/** Rows of a tall grid are thinner, and have no figures. */
const MOST_TALL = 300;
/** The share of the width that the names of rows take at most. */
const NAMES = 0.3;
/** From a line of a name to the next. */
const LINE = 14;
/** The width that a column's name gets, px, where it needs so much: of narrower columns some have no name. */
const LEAST_NAME = 60;
/**
 * The tones of least and most: the one just dark enough to tell a field from paper, the other too dark to read
 * ink on.
 */
const LIGHT = 0.06;
const DARK = 0.86;
/** Figures are in ink up to this tone and in the paper's colour beyond it: both have the same contrast here. */
const EVEN = 0.5;
/** The marked corner of a field in doubt, px. */
const CORNER = 6;

/** Draws a map; an empty field is crossed out, one in doubt has a marked corner. */
export function mapChart(options: MapOptions): Drawing {
  const { title, x, y, fields, width, colours } = options;
  const left = Math.min(NAMES * width, longestPx(y.values));
  const rows = y.values.map((name) => broken(name, left - 8, FONT_PX));
  const tallest = rows.reduce((most, one) => Math.max(most, one.length), 1);
  const usual = Math.min(ROW, MOST_TALL / y.values.length);
  const cell = {
    width: (width - left) / x.values.length,
    // Names of one line may be left out where rows are thin; those of several lines have room.
    height: tallest > 1 ? Math.max(usual, tallest * LINE + 4) : usual,
  };
  const height = cell.height * y.values.length;
  const field = (one: MapField | null, column: number, row: number): string =>
    fieldOf(one, { x: column * cell.width, y: row * cell.height, ...cell }, options);
  const step = Math.ceil(Math.min(LEAST_NAME, longestPx(x.values)) / cell.width);
  const columns = every(step, x.values).map(
    ([name, at]) => [broken(name, step * cell.width - 6, FONT_PX), at] as const,
  );
  const below = columns.reduce((most, [names]) => Math.max(most, names.length), 1);
  const axes = broken(`${x.label} across, ${y.label} down`, width, FONT_PX);
  const titles = broken(title, width, FONT_PX, true);
  const top = TITLE + Math.max(0, titles.length - 1) * LINE;
  const inside = [
    ...fields.flatMap((row, r) => row.map((one, c) => field(one, c, r))),
    element('rect', { width: width - left, height, fill: 'none', stroke: colours.ink }),
    ...columns.flatMap(([names, at]) =>
      names.map((name, line) =>
        label(name, (at + 0.5) * cell.width, height + 14 + line * LINE, {
          'text-anchor': 'middle',
        }),
      ),
    ),
    ...every(Math.ceil(LINE / cell.height), rows).flatMap(([names, at]) =>
      names.map((name, line) =>
        label(name, -6, (at + 0.5) * cell.height + 4 + (line - (names.length - 1) / 2) * LINE, {
          'text-anchor': 'end',
        }),
      ),
    ),
    ...axes.map((line, index) =>
      label(line, width - left, height + 16 + (below + index) * LINE, {
        'text-anchor': 'end',
        'font-style': 'italic',
      }),
    ),
  ];
  const body = [
    ...titles.map((line, index) => label(line, 0, 12 + index * LINE, { 'font-weight': 600 })),
    element('g', { transform: `translate(${left} ${top})` }, inside.join('')),
  ];
  return {
    width,
    height: top + height + AXIS + (below + axes.length - 2) * LINE,
    body: body.join('\n'),
  };
}

interface Rectangle {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

function fieldOf(
  field: MapField | null,
  at: Rectangle,
  { range, figure, colours }: MapOptions,
): string {
  const { x, y, width, height } = at;
  if (field === null)
    return element('path', {
      d: `M${x} ${y}l${width} ${height}m${-width} 0l${width} ${-height}`,
      stroke: colours.faint,
      fill: 'none',
    });
  const [least, most] = range;
  const { value, isDoubted } = field;
  const share = most > least ? Math.min(1, Math.max(0, (value - least) / (most - least))) : 0;
  const tone = LIGHT + (DARK - LIGHT) * share;
  const corner = Math.min(CORNER, width / 2, height / 2);
  const ink = tone > EVEN ? colours.paper : colours.ink;
  const words = withDoubt(figure(value).replace('-', '\u2212'), isDoubted ? 0 : 1);
  const hasRoom = words.length * LETTER_PX + 4 <= width && height >= 14;
  return (
    element('rect', { x, y, width, height, fill: colours.ink, 'fill-opacity': tone.toFixed(3) }) +
    (hasRoom
      ? label(words, x + width / 2, y + height / 2 + 4, {
          'text-anchor': 'middle',
          fill: ink,
        })
      : '') +
    (isDoubted
      ? element('path', { d: `M${x + width} ${y}v${corner}l${-corner} ${-corner}z`, fill: ink })
      : '')
  );
}

function longestPx(names: readonly string[]): number {
  return 8 + names.reduce((most, one) => Math.max(most, widthOf(one, FONT_PX)), 0);
}

/** One of so many, the first among them. */
function every<T>(step: number, all: readonly T[]): readonly (readonly [one: T, index: number])[] {
  return all.flatMap((one, index) => (index % step === 0 ? [[one, index] as const] : []));
}
