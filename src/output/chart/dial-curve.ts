/** What a dial stands for from end to end: the measured positions with their errors, and the way between them. */

import { largest, smallest } from '../../modules/dsp/extremes.ts';
import { type DialTable, valueAt } from '../../patch/rack/dial.ts';
import { isInRatios, unitsOf } from '../../patch/units.ts';
import { brief, type Drawing, element } from './chart-svg.ts';
import { PRINT } from './colours.ts';
import { framed, type Plot } from './frame.ts';

export interface DialCurve {
  readonly title: string;
  readonly caption: string;
  /** As measured. */
  readonly table: DialTable;
  /** How far the truth may lie either way at each of its points, in the unit of its quantity. */
  readonly errors: readonly number[];
  /** What was said of the dial before, drawn as dashes. */
  readonly before?: DialTable | undefined;
}

const WIDTH = 640;
const HEIGHT = 260;
/** Of the axes beyond what is drawn, as a share. */
const ROOM = 0.06;
/** Points of a line from end to end. */
const POINTS = 240;
const RADIUS = 4;
/** Half of the bar that ends an error, px. */
const BAR = 5;

/** Draws it for print. */
export function dialCurve({ title, caption, table, errors, before }: DialCurve): Drawing {
  const tables = before === undefined ? [table] : [table, before];
  const values = tables.flatMap(({ points }) => points.map(({ value }) => value));
  const isLog = isInRatios(table.quantity) && values.every((value) => value > 0);
  const scale = isLog ? 'log' : 'linear';
  const positions = tables.flatMap(({ points }) => points.map(({ position }) => position));
  const { factor, unit } = scaleOf(table, largest(values.map(Math.abs)));
  const shown = values.map((value) => value * factor);
  return framed(
    {
      title,
      caption,
      x: { label: 'position of the dial', scale: 'linear', domain: widened(positions, 'linear') },
      y: { label: unit, scale, domain: widened(shown, scale) },
      width: WIDTH,
      plotHeight: HEIGHT,
      colours: PRINT,
    },
    (plot) => {
      const [colour = PRINT.ink] = PRINT.series;
      const old = before === undefined ? '' : curve(plot, before, factor, PRINT.faint, '6 4');
      const marks = table.points.map(({ position, value }, k) =>
        mark(plot, { position, value: value * factor }, (errors[k] ?? 0) * factor, isLog),
      );
      return old + curve(plot, table, factor, colour, undefined) + marks.join('');
    },
  );
}

function curve(
  { x, y }: Plot,
  table: DialTable,
  factor: number,
  stroke: string,
  dash: string | undefined,
): string {
  const [first, last] = [table.points[0]?.position ?? 0, table.points.at(-1)?.position ?? 0];
  const between = Array.from(
    { length: POINTS + 1 },
    (_, n) => first + ((last - first) * n) / POINTS,
  );
  // The corners of the line lie at the measured positions, which no even step hits.
  const all = [...between, ...table.points.map(({ position }) => position)].sort((a, b) => a - b);
  const d = all.flatMap((position) => {
    const value = valueAt(table, position);
    return value === undefined ? [] : [`${brief(x(position))} ${brief(y(value * factor))}`];
  });
  return element('path', {
    d: `M${d.join('L')}`,
    fill: 'none',
    stroke,
    'stroke-width': 1.8,
    'stroke-dasharray': dash,
  });
}

function mark(
  { x, y, height }: Plot,
  { position, value }: { readonly position: number; readonly value: number },
  error: number,
  isLog: boolean,
): string {
  const [at, stroke] = [x(position), PRINT.ink];
  const high = y(value + error);
  const least = value - error;
  const low = isLog && least <= 0 ? height : y(least);
  const bars = `M${brief(at)} ${brief(high)}V${brief(low)}M${brief(at - BAR)} ${brief(high)}h${2 * BAR}M${brief(at - BAR)} ${brief(low)}h${2 * BAR}`;
  return (
    element('path', { d: bars, stroke, fill: 'none' }) +
    element('circle', {
      cx: at,
      cy: y(value),
      r: RADIUS,
      fill: PRINT.paper,
      stroke,
      'stroke-width': 1.6,
    })
  );
}

function widened(values: readonly number[], scale: 'log' | 'linear'): [number, number] {
  const [low, high] = [smallest(values), largest(values)];
  if (scale === 'linear') {
    const room = ROOM * (high - low || 1);
    return [low - room, high + room];
  }
  const room = (high / low) ** ROOM;
  return [low / room, high * room];
}

/** The unit that the largest value is written in. */
function scaleOf(
  { quantity }: DialTable,
  most: number,
): { readonly factor: number; readonly unit: string } {
  switch (quantity) {
    case 'time':
      return most < 1 ? { factor: 1000, unit: 'ms' } : { factor: 1, unit: 's' };
    case 'percent':
      return { factor: 100, unit: '%' };
    case 'interval':
      return { factor: 1, unit: 'semitones' };
    default:
      return { factor: 1, unit: unitsOf(quantity)[0] ?? '' };
  }
}
