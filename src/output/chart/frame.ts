/** The frame that every chart has: title, axes with their units, grid, caption. */

import { scaleLinear, scaleLog } from 'd3-scale';
import { brief, type Drawing, element, FONT_PX, label, lines } from './chart-svg.ts';
import type { ChartColours } from './colours.ts';
import { broken } from './letters.ts';

export interface Axis {
  /** With its unit: `time, ms`. */
  readonly label: string;
  readonly scale: 'linear' | 'log';
  readonly domain: readonly [number, number];
  /** Whether it counts things: then only whole numbers are ticks. */
  readonly isWhole?: boolean;
}

export interface FrameOptions {
  readonly title: string;
  /** Lines that the title's room has at least, so that plots beside one another are at one height. */
  readonly titleLines?: number;
  readonly caption?: string;
  readonly x: Axis;
  readonly y: Axis;
  /** Of the whole drawing, px. */
  readonly width: number;
  /** Of the plot alone, px. */
  readonly plotHeight: number;
  /** Room at the right of the plot, for a legend, px. */
  readonly rightPx?: number;
  /** How far down from the plot's upper edge what stands there reaches, px: then captions stay beside it. */
  readonly besidePx?: number;
  /** Small multiples leave axes out where a neighbour shows them. */
  readonly bare?: { readonly x: boolean; readonly y: boolean };
  readonly colours: ChartColours;
}

export type Position = (value: number) => number;

/** What is drawn into a frame gets the scales and the plot's size. */
export interface Plot {
  readonly x: Position;
  readonly y: Position;
  readonly width: number;
  readonly height: number;
}

const LEFT = 52;
const BARE_LEFT = 8;
const TITLE = 22;
/** Above a plot without a title: half of the highest number at its side. */
const NO_TITLE = 6;
const TICK = 5;
const X_LABELS = 40;
const LINE = 16;

/** Draws a frame and, inside it, what `draw` gives; `beside` is put at the right of the plot. */
export function framed(
  options: FrameOptions,
  draw: (plot: Plot) => string,
  drawBeside: (plot: Plot) => string = () => '',
): Drawing {
  const { width, plotHeight: height, colours, rightPx = 10, caption = '' } = options;
  const bare = options.bare ?? { x: false, y: false };
  const left = leftOf(options);
  const plotWidth = width - left - rightPx;
  const x = scaleOf(options.x, [0, plotWidth]);
  const y = scaleOf(options.y, [height, 0]);
  const plot: Plot = { x: x.at, y: y.at, width: plotWidth, height };
  const under = bare.x ? 8 : X_LABELS;
  const beside = options.besidePx ?? 0;
  const captionWidth = beside > height + under ? plotWidth : width - left;
  const captions = caption === '' ? [] : lines(caption, captionWidth);
  const titles = titleLines(options);
  const room = Math.max(titles.length, options.titleLines ?? 0);
  const top = room === 0 ? NO_TITLE : TITLE + (room - 1) * LINE;
  // The corner of the plot is the origin.
  const body = [
    ...titles.map((line, index) =>
      label(line, 0, 12 - TITLE - (titles.length - 1 - index) * LINE, { 'font-weight': 600 }),
    ),
    ...grid(plot, x.ticks, y.ticks, colours),
    // An inner picture ends at its edges, and so does what lies outside the axes.
    element('svg', { width: plotWidth, height }, draw(plot)),
    element('rect', { width: plotWidth, height, fill: 'none', stroke: colours.ink }),
    ...(bare.x ? [] : xAxis(plot, options.x, x.ticks)),
    ...(bare.y ? [] : yAxis(plot, options.y, y.ticks)),
    drawBeside(plot),
    ...captions.map((line, index) =>
      label(line, 0, height + under + 14 + index * LINE, { 'font-style': 'italic' }),
    ),
  ];
  return {
    width,
    height: top + Math.max(height + under + captions.length * LINE, beside),
    body: element('g', { transform: `translate(${left} ${top})` }, body.join('')),
  };
}

/** The lines of a chart's title. */
export function titleLines(
  options: Pick<FrameOptions, 'title' | 'width' | 'bare'>,
): readonly string[] {
  return broken(options.title, options.width - leftOf(options), FONT_PX, true);
}

function leftOf({ bare }: Pick<FrameOptions, 'bare'>): number {
  return bare?.y ? BARE_LEFT : LEFT;
}

interface AxisScale {
  readonly at: Position;
  readonly ticks: readonly number[];
}

function scaleOf(
  { scale, domain, isWhole = false }: Axis,
  range: readonly [number, number],
): AxisScale {
  const made =
    scale === 'log' ? scaleLog([...domain], [...range]) : scaleLinear([...domain], [...range]);
  const wanted = Math.max(
    2,
    Math.round(Math.abs(range[1] - range[0]) / (range[0] === 0 ? 70 : 34)),
  );
  const ticks = scale === 'log' ? logTicks(domain, wanted) : made.ticks(wanted);
  return { at: (value) => made(value), ticks: isWhole ? ticks.filter(Number.isInteger) : ticks };
}

/** 1, 2 and 5 of each decade, or the decades alone where there is no room. */
function logTicks([from, to]: readonly [number, number], wanted: number): number[] {
  const ticksAt = (firsts: readonly number[]): number[] => {
    const ticks: number[] = [];
    for (let decade = Math.floor(Math.log10(from)); decade <= Math.ceil(Math.log10(to)); decade++)
      for (const first of firsts) ticks.push(Number(`${first}e${decade}`));
    return ticks.filter((tick) => tick >= from && tick <= to);
  };
  const fine = ticksAt([1, 2, 5]);
  return fine.length <= wanted * 1.6 ? fine : ticksAt([1]);
}

function grid(
  { x, y, width, height }: Plot,
  xTicks: readonly number[],
  yTicks: readonly number[],
  { grid: stroke }: ChartColours,
): string[] {
  return [
    ...xTicks.map((tick) => element('path', { d: `M${brief(x(tick))} 0V${height}`, stroke })),
    ...yTicks.map((tick) => element('path', { d: `M0 ${brief(y(tick))}H${brief(width)}`, stroke })),
  ];
}

function xAxis({ x, width, height }: Plot, axis: Axis, ticks: readonly number[]): string[] {
  return [
    ...ticks.map((tick) =>
      label(tickText(tick), x(tick), height + TICK + FONT_PX, { 'text-anchor': 'middle' }),
    ),
    label(axis.label, width / 2, height + TICK + 2 * FONT_PX + 4, { 'text-anchor': 'middle' }),
  ];
}

function yAxis({ y, height }: Plot, axis: Axis, ticks: readonly number[]): string[] {
  return [
    ...ticks.map((tick) => label(tickText(tick), -TICK, y(tick) + 4, { 'text-anchor': 'end' })),
    label(axis.label, 0, 0, {
      'text-anchor': 'middle',
      transform: `translate(${-LEFT + FONT_PX} ${brief(height / 2)}) rotate(-90)`,
    }),
  ];
}

/** 1000 is 1k; a minus is a minus and not a hyphen. */
function tickText(tick: number): string {
  const size = Math.abs(tick);
  const text =
    size >= 1000 ? `${Number((tick / 1000).toPrecision(6))}k` : String(Number(tick.toPrecision(6)));
  return text.replace('-', '\u2212');
}
