/** Lines over one another: envelopes, spectra, control voltages. */

import { curveLinear, line } from 'd3-shape';
import { largest } from '../../modules/dsp/extremes.ts';
import { type Drawing, element, FONT_PX, fitted, LETTER_PX, label } from './chart-svg.ts';
import { type ChartColours, seriesStyle } from './colours.ts';
import { type FrameOptions, framed, type Plot } from './frame.ts';
import { broken } from './letters.ts';

export interface Series {
  /** Drawn with a name in the legend or, without one, thin and faint behind the others. */
  readonly name?: string;
  readonly points: readonly Point[];
}

/** A gap where there is no value. */
export type Point = readonly [x: number, y: number | null];

/** Room for a legend beside a plot, px. */
export const LEGEND_PX = 190;
/** Of a legend below the plot: the least width of an entry, what its words leave of it, the room above. */
const ENTRY_PX = 120;
const BESIDE_PX = 44;
const ABOVE_PX = 14;
const SAMPLE_PX = 28;
const ROW = 17;
/** From a line of a name to the next. */
const NAME_LINE = 14;

export interface LineChartOptions extends Omit<FrameOptions, 'rightPx' | 'besidePx'> {
  /** Where the names of several series stand: beside the plot unless given. */
  readonly legend?: 'beside' | 'below';
}

/** Draws series over one another, those with a name in a style of their own, with a legend. */
export function lineChart(options: LineChartOptions, series: readonly Series[]): Drawing {
  const named = series.filter(({ name }) => name !== undefined);
  const unnamed = series.filter(({ name }) => name === undefined);
  const { colours } = options;
  const hasLegend = named.length > 1 || unnamed.length > 0;
  const isBeside = hasLegend && options.legend !== 'below';
  const words = entriesOf(named, unnamed.length, colours);
  const chart = framed(
    {
      ...options,
      ...(isBeside ? { rightPx: LEGEND_PX, besidePx: legendHeight(words) } : { rightPx: 10 }),
    },
    (plot) =>
      [
        ...unnamed.map(({ points }) => linePath(plot, points, colours.faint, undefined, 1)),
        ...named.map(({ points }, index) => {
          const { stroke, dash } = seriesStyle(index, colours);
          return linePath(plot, points, stroke, dash, 1.8);
        }),
      ].join(''),
    (plot) => (isBeside ? legendBeside(words, plot.width) : ''),
  );
  if (!hasLegend || isBeside) return chart;
  const room = largest(
    words.map((one) => one.words.length * LETTER_PX + BESIDE_PX + 1),
    ENTRY_PX,
  );
  const columns = Math.max(1, Math.floor(chart.width / room));
  const entries = words.map((entry, index) =>
    legendEntry(
      entry,
      (index % columns) * room,
      chart.height + ABOVE_PX + Math.floor(index / columns) * ROW,
      [fitted(entry.words, Math.min(room, chart.width) - BESIDE_PX)],
    ),
  );
  return {
    width: chart.width,
    height: chart.height + ABOVE_PX + Math.ceil(entries.length / columns) * ROW - ROW / 2,
    body: chart.body + entries.join(''),
  };
}

/** Draws one line into a plot. */
export function linePath(
  { x, y }: Plot,
  points: readonly Point[],
  stroke: string,
  dash: string | undefined,
  width: number,
): string {
  const made = line<Point>()
    .defined(([, value]) => value !== null)
    .x(([value]) => x(value))
    .y(([, value]) => y(value as number))
    .curve(curveLinear)
    .digits(1);
  return element('path', {
    d: made(points) ?? '',
    fill: 'none',
    stroke,
    'stroke-width': width,
    'stroke-linejoin': 'round',
    'stroke-dasharray': dash,
  });
}

/** Names lines at the right of a plot so wide, which has left them {@link LEGEND_PX}. */
export function legendBeside(entries: readonly LegendEntry[], width: number): string {
  return placedBeside(entries)
    .map(({ entry, names, y }) => legendEntry(entry, width + 14, y, names))
    .join('');
}

/** Of a legend beside a plot, from the plot's upper edge, px. */
function legendHeight(entries: readonly LegendEntry[]): number {
  const { y = 0, names = [] } = placedBeside(entries).at(-1) ?? {};
  return y + names.length * NAME_LINE;
}

interface PlacedEntry {
  readonly entry: LegendEntry;
  /** The lines of its name. */
  readonly names: readonly string[];
  readonly y: number;
}

function placedBeside(entries: readonly LegendEntry[]): readonly PlacedEntry[] {
  let next = 6;
  return entries.map((entry) => {
    const names = broken(entry.words, LEGEND_PX - SAMPLE_PX - 24, FONT_PX);
    const y = next;
    next += ROW + (names.length - 1) * NAME_LINE;
    return { entry, names, y };
  });
}

/** A line's name and how it is drawn. */
export interface LegendEntry {
  readonly words: string;
  readonly stroke: string;
  readonly dash: string | undefined;
  /** px; 2 unless given, more for a surface. */
  readonly width?: number;
}

function entriesOf(
  named: readonly Series[],
  unnamed: number,
  colours: ChartColours,
): LegendEntry[] {
  const entries = named.map(({ name = '' }, index) => ({
    words: name,
    ...seriesStyle(index, colours),
  }));
  const others = { words: `${unnamed} others`, stroke: colours.faint, dash: undefined };
  return unnamed > 0 ? [...entries, others] : entries;
}

function legendEntry(
  { stroke, dash, width = 2 }: LegendEntry,
  x: number,
  y: number,
  names: readonly string[],
): string {
  return (
    element('path', {
      d: `M${x} ${y}h${SAMPLE_PX}`,
      stroke,
      'stroke-width': width,
      'stroke-dasharray': dash,
    }) +
    names.map((name, line) => label(name, x + SAMPLE_PX + 6, y + 4 + line * NAME_LINE)).join('')
  );
}
