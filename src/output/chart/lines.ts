/** Lines over one another: envelopes, spectra, control voltages. */

import { curveLinear, line } from 'd3-shape';
import { type Drawing, element, fitted, label } from './chart-svg.ts';
import { type ChartColours, seriesStyle } from './colours.ts';
import { type FrameOptions, framed, type Plot } from './frame.ts';

export interface Series {
  /** Drawn with a name in the legend or, without one, thin and faint behind the others. */
  readonly name?: string;
  readonly points: readonly Point[];
}

/** A gap where there is no value. */
export type Point = readonly [x: number, y: number | null];

const LEGEND_PX = 190;
const SAMPLE_PX = 28;
const ROW = 17;

/** Draws series over one another, those with a name in a style of their own, with a legend. */
export function lineChart(
  options: Omit<FrameOptions, 'rightPx'>,
  series: readonly Series[],
): Drawing {
  const named = series.filter(({ name }) => name !== undefined);
  const unnamed = series.filter(({ name }) => name === undefined);
  const { colours } = options;
  const hasLegend = named.length > 1 || unnamed.length > 0;
  return framed(
    { ...options, rightPx: hasLegend ? LEGEND_PX : 10 },
    (plot) =>
      [
        ...unnamed.map(({ points }) => path(plot, points, colours.faint, undefined, 1)),
        ...named.map(({ points }, index) => {
          const { stroke, dash } = seriesStyle(index, colours);
          return path(plot, points, stroke, dash, 1.8);
        }),
      ].join(''),
    (plot) => (hasLegend ? legend(plot, named, unnamed.length, colours) : ''),
  );
}

function path(
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

function legend(
  { width }: Plot,
  named: readonly Series[],
  unnamed: number,
  colours: ChartColours,
): string {
  const left = width + 14;
  const row = (index: number, words: string, stroke: string, dash?: string): string => {
    const y = 6 + index * ROW;
    return (
      element('path', {
        d: `M${left} ${y}h${SAMPLE_PX}`,
        stroke,
        'stroke-width': 2,
        'stroke-dasharray': dash,
      }) + label(fitted(words, LEGEND_PX - SAMPLE_PX - 24), left + SAMPLE_PX + 6, y + 4)
    );
  };
  return [
    ...named.map(({ name = '' }, index) => {
      const { stroke, dash } = seriesStyle(index, colours);
      return row(index, name, stroke, dash);
    }),
    ...(unnamed > 0 ? [row(named.length, `${unnamed} others`, colours.faint)] : []),
  ].join('');
}
