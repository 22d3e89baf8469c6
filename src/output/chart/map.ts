/**
 * A map: two settings as axes, and at each crossing a measure as a tone, the most being the darkest. The
 * figures stand in the fields where there is room, so that nobody has to judge a grey.
 */

import { withDoubt } from '../../measure/doubt.ts';
import { type Drawing, element, fitted, LETTER_PX, label } from './chart-svg.ts';
import type { ChartColours } from './colours.ts';

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
const LONGEST_NAME = 90;
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
  const longest = y.values.reduce((most, one) => Math.max(most, one.length), 0);
  const left = Math.min(LONGEST_NAME, longest * LETTER_PX + 8);
  const cell = {
    width: (width - left) / x.values.length,
    height: Math.min(ROW, MOST_TALL / y.values.length),
  };
  const height = cell.height * y.values.length;
  const field = (one: MapField | null, column: number, row: number): string =>
    fieldOf(one, { x: column * cell.width, y: row * cell.height, ...cell }, options);
  const inside = [
    ...fields.flatMap((row, r) => row.map((one, c) => field(one, c, r))),
    element('rect', { width: width - left, height, fill: 'none', stroke: colours.ink }),
    ...thinned(x.values, cell.width, longestPx(x.values)).map(([name, at]) =>
      label(name, (at + 0.5) * cell.width, height + 14, { 'text-anchor': 'middle' }),
    ),
    ...thinned(y.values, cell.height, 14).map(([name, at]) =>
      label(fitted(name, left - 4), -6, (at + 0.5) * cell.height + 4, { 'text-anchor': 'end' }),
    ),
    label(fitted(`${x.label} across, ${y.label} down`, width), width - left, height + 30, {
      'text-anchor': 'end',
      'font-style': 'italic',
    }),
  ];
  const body = [
    label(fitted(title, width), 0, 12, { 'font-weight': 600 }),
    element('g', { transform: `translate(${left} ${TITLE})` }, inside.join('')),
  ];
  return { width, height: TITLE + height + AXIS, body: body.join('\n') };
}

interface Place {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

function fieldOf(
  field: MapField | null,
  at: Place,
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
  return 8 + LETTER_PX * names.reduce((most, one) => Math.max(most, one.length), 0);
}

/** As many names as have room, the first among them. */
function thinned(
  names: readonly string[],
  room: number,
  needed: number,
): readonly (readonly [name: string, index: number])[] {
  const step = Math.max(1, Math.ceil(needed / room));
  return names.flatMap((name, index) => (index % step === 0 ? [[name, index] as const] : []));
}
