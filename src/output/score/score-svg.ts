/**
 * The score as a chart, drawn to scale: a millisecond is as wide everywhere. Two bars to a row of
 * lanes, as an engineer's timing sheet has them: gates as levels, steps of followers as numbered
 * boxes, envelopes as the curves that were played, with a band beneath for their phases. Nothing is
 * told by colour alone.
 */

import type { Phase } from '../../engine/phases.ts';
import { largest } from '../../modules/dsp/extremes.ts';
import { counted } from '../../patch/text/counted.ts';
import { brief, element, fitted, LETTER_PX, label } from '../chart/chart-svg.ts';
import { PRINT } from '../chart/colours.ts';
import { PAGE_COLOURS } from '../document/style.ts';
import { escaped } from '../markup.ts';
import { stepsOf } from './score-of.ts';
import { ANSWER_HEADS, barsPlayed, headingOf, scoreWords, shortNumber } from './score-words.ts';
import { SLACK } from './standing.ts';
import { type Bar, CURVE_SECONDS, type Lane, type TimeScore } from './time-score.ts';

/** Bars that a chart may have. */
export const MOST_DRAWN = 64;

/** Where lanes lie from left to right, in units of the chart. */
interface Frame {
  readonly width: number;
  /** Ends of the time axis. */
  readonly left: number;
  readonly right: number;
  /** Heights of its lanes. */
  readonly lane: Readonly<Record<Lane['type'], number>>;
}

const FILE: Frame = {
  width: 1120,
  left: 168,
  right: 1096,
  lane: { gate: 26, steps: 26, phases: 48 },
};
/** Of a picture: two bars of a kit of eight, twice, on a page. */
const LOW_LANES = { gate: 17, steps: 18, phases: 29 };
/** As wide as a sheet of paper has letters for. */
const PICTURE_WIDTH = 800;
/** The most that names of lanes take of a picture; what is longer is cut. */
const MOST_NAME = 190;
const TOP = 66;
const HEADING = 34;
const GAP = 26;
/** Bars in a row, unless a bar is long. */
const IN_ROW = 2;
/** Steps of a bar above which it has a row of its own. */
const MANY_STEPS = 24;
const CAPTION = 17;
const COLUMN = 200;
/** s; the length that the scale beneath the chart shows. */
const RULER_SECONDS = 0.1;
/** Middling width of a letter of a lane's name, and of a heading. */
const LETTER = 6.4;
const SMALL_LETTER = 5.7;
/** Units under which two numbers of steps would touch. */
const ROOM_FOR_NUMBER = 16;

const { ink, grid, faint, paper } = PRINT;
const { quiet } = PAGE_COLOURS.light;
const ACCENT = PRINT.series[1] as string;

/** Letters are narrower than those of other charts: the number of a step has 16 units. */
const STYLE = `
text{font-family:"Helvetica Neue",Arial,"Liberation Sans",sans-serif;font-size:12px;fill:${ink}}
.title{font-size:17px;font-weight:bold}
.quiet{fill:${quiet};font-size:11px}
.name{text-anchor:end}
.number{text-anchor:middle;font-size:11px}
.tick{font-size:11px;fill:${quiet}}
.head{font-size:11px;font-weight:bold}
.rule{stroke:${grid};stroke-width:.7}
.beat,.zero{stroke:${faint};stroke-width:.9}
.bar{stroke:${ink};stroke-width:1.4}
.trace{fill:none;stroke:${ink};stroke-width:1.3}
.high{fill:${ink};fill-opacity:.12}
.accent{fill:${ACCENT}}
.ghost{fill:${paper};stroke:${ink};stroke-width:1}
.accentline{stroke:${ACCENT};stroke-width:2.4}
.box{fill:${paper};stroke:${quiet};stroke-width:.9}
.first{fill:${paper};stroke:${ACCENT};stroke-width:1.8}
.attack{fill:${ink}}.decay{fill:${quiet};fill-opacity:.8}.sustain{fill:${ink};fill-opacity:.45}.release{fill:${faint};fill-opacity:.6}.cut{fill:url(#hatch);stroke:${quiet};stroke-width:.6}`;

/** Draws a score as an SVG file. */
export function scoreSvg(score: TimeScore): string {
  const rows = rowsOf(score);
  const scale = scaleOf(rows, FILE);
  const height = heightOf(score.lanes, FILE);
  let y = TOP;
  const parts = [
    text(24, 30, score.title, 'title'),
    text(
      24,
      49,
      `Score of time: ${shortNumber(score.seconds)} s, ${counted(barsPlayed(score), 'bar')} of ${counted(score.ruler.beats, 'quarter')}; ${score.sampleRate / 1000} kHz`,
      'quiet',
    ),
  ];
  for (const row of rows) {
    parts.push(new RowDrawing(score, row, FILE, scale, y, height).draw());
    y += HEADING + height + GAP;
  }
  parts.push(legend(score, FILE, scale, y));
  const notes = captions(score);
  notes.forEach((note, index) => {
    parts.push(columns(note, y + 10 + CAPTION * (index + 1)));
  });
  const total = y + 10 + CAPTION * (notes.length + 1) + 10;
  return svgFile(`${score.title}: score of time`, FILE.width, total, parts);
}

/** A row of the score as a picture of its own, and where time lies in it. */
export interface ScorePicture {
  readonly svg: string;
  /** What it shows: `Bars 1 and 2`. */
  readonly name: string;
  /** Ends of the time axis, s. */
  readonly from: number;
  readonly to: number;
  /** Where these ends are in the picture, in its own units, as are its width and height. */
  readonly left: number;
  readonly right: number;
  readonly width: number;
  readonly height: number;
}

/**
 * Draws each row of a score by itself, without heading and notes, all to one scale. Letters stay
 * readable where a picture is as wide as a sheet of paper.
 */
export function* scorePictures(score: TimeScore): Generator<ScorePicture> {
  const rows = rowsOf(score);
  const longest = largest(
    score.lanes.map(({ name }) => name.length * LETTER),
    0,
  );
  const frame: Frame = {
    width: PICTURE_WIDTH,
    left: Math.ceil(Math.min(longest, MOST_NAME)) + 20,
    right: PICTURE_WIDTH - 8,
    lane: LOW_LANES,
  };
  const scale = scaleOf(rows, frame);
  const lanes = heightOf(score.lanes, frame);
  const legendAt = HEADING + lanes + 20;
  const height = legendAt + 10;
  for (const row of rows) {
    const name = barsName(row.bars);
    const drawn = [
      new RowDrawing(score, row, frame, scale, 0, lanes).draw(),
      legend(score, frame, scale, legendAt),
    ];
    yield {
      svg: svgFile(`${score.title}: ${name.toLowerCase()}`, frame.width, height, drawn),
      name,
      from: row.start,
      to: row.end,
      left: frame.left,
      right: frame.left + (row.end - row.start) * scale,
      width: frame.width,
      height,
    };
  }
}

function barsName(bars: readonly Bar[]): string {
  const [first, last] = [bars[0]?.number, bars.at(-1)?.number];
  return first === last ? `Bar ${first}` : `Bars ${first} and ${last}`;
}

/** Units a second: the same for all rows, so that the longest fits. */
function scaleOf(rows: readonly BarRow[], { left, right }: Frame): number {
  const longest = rows.reduce((most, { start, end }) => Math.max(most, end - start), 0);
  return longest > 0 ? (right - left) / longest : 1;
}

function heightOf(lanes: readonly Lane[], { lane }: Frame): number {
  return lanes.reduce((sum, { type }) => sum + lane[type], 0);
}

function svgFile(title: string, width: number, height: number, parts: readonly string[]): string {
  const size = { width, height };
  const hatch = element('path', { d: 'M0 4L4 0', stroke: quiet, 'stroke-width': 0.8 });
  const picture = element(
    'svg',
    {
      xmlns: 'http://www.w3.org/2000/svg',
      ...size,
      viewBox: `0 0 ${width} ${brief(height)}`,
    },
    element('title', {}, escaped(title)),
    element('style', {}, STYLE),
    element(
      'defs',
      {},
      element(
        'pattern',
        { id: 'hatch', width: 4, height: 4, patternUnits: 'userSpaceOnUse' },
        hatch,
      ),
    ),
    element('rect', { ...size, fill: paper }),
    parts.join('\n'),
  );
  return `${picture}\n`;
}

function line(x1: number, y1: number, x2: number, y2: number, style: string): string {
  return element('line', { x1, y1, x2, y2, class: style });
}

function text(x: number, y: number, words: string, style: string): string {
  return label(words, x, y, { class: style });
}

function rect(x: number, y: number, width: number, height: number, style: string): string {
  return element('rect', { x, y, width, height, class: style });
}

function dot(cx: number, cy: number, style: 'accent' | 'ghost' = 'accent'): string {
  return element('circle', { cx, cy, r: 3, class: style });
}

/** To a tenth of a unit, which no eye and no printer tells apart: curves have thousands of points. */
function coordinate(value: number): string {
  return String(Math.round(value * 10) / 10);
}

/** A line through points; nothing for fewer than two. */
function path(points: readonly (readonly [x: number, y: number])[], style: string): string {
  if (points.length < 2) return '';
  const steps = points.map(([x, y]) => `${coordinate(x)} ${coordinate(y)}`);
  return element('path', { d: `M${steps.join('L')}`, class: style });
}

/** What stands on one row: some bars, and when they start and end. */
interface BarRow {
  readonly bars: readonly Bar[];
  readonly start: number;
  readonly end: number;
}

function rowsOf({ bars, sections, ruler }: TimeScore): BarRow[] {
  const most = sections.reduce((steps, section) => Math.max(steps, section.stepsPerQuarter), 1);
  const count = most * ruler.beats > MANY_STEPS ? 1 : IN_ROW;
  const rows: BarRow[] = [];
  for (let at = 0; at < bars.length; at += count) {
    const some = bars.slice(at, at + count);
    const [first, last] = [some[0] as Bar, some.at(-1) as Bar];
    rows.push({ bars: some, start: first.start, end: last.end });
  }
  return rows;
}

class RowDrawing {
  private readonly score: TimeScore;
  private readonly row: BarRow;
  private readonly frame: Frame;
  private readonly scale: number;
  private readonly top: number;
  private readonly bottom: number;

  /** @param scale units a second. */
  constructor(
    score: TimeScore,
    row: BarRow,
    frame: Frame,
    scale: number,
    top: number,
    height: number,
  ) {
    this.score = score;
    this.row = row;
    this.frame = frame;
    this.scale = scale;
    this.top = top + HEADING;
    this.bottom = this.top + height;
  }

  draw(): string {
    const parts = [...this.grid()];
    const { left } = this.frame;
    let y = this.top;
    for (const lane of this.score.lanes) {
      const height = this.frame.lane[lane.type];
      const name = fitted(lane.name, (left - 14) * (LETTER_PX / LETTER));
      parts.push(text(left - 10, y + height / 2 + 4, name, 'name'));
      for (const part of this.lane(lane, y, height)) parts.push(part);
      y += height;
      parts.push(line(4, y, this.x(this.row.end), y, 'rule'));
    }
    return parts.join('\n');
  }

  private x(time: number): number {
    return this.frame.left + (time - this.row.start) * this.scale;
  }

  /** Bars, beats and steps, the steps where the patterns have them: swung. */
  private *grid(): Generator<string> {
    const { ruler, sections } = this.score;
    const { bars } = this.row;
    for (const bar of bars) {
      const room = (bar.end - bar.start) * this.scale - 52;
      const heading = fitted(headingOf(bar, sections), room * (LETTER_PX / SMALL_LETTER));
      yield text(this.x(bar.start) + 4, this.top - 20, `bar ${bar.number}`, 'head');
      yield text(this.x(bar.start) + 52, this.top - 20, heading, 'quiet');
      let numbered = Number.NEGATIVE_INFINITY;
      for (const { time, number } of stepsOf(bar, sections)) {
        const x = this.x(time);
        if (time > bar.start + 1e-9) yield line(x, this.top, x, this.bottom, 'rule');
        // Where steps are close, a number that has no room is left out.
        if (x < numbered) continue;
        const words = String(number);
        yield text(x + 2, this.top - 4, words, 'tick');
        numbered = x + 2 + (words.length + 0.5) * LETTER;
      }
      for (let beat = 1; beat < ruler.beats; beat++) {
        const time = ruler.timeOf((bar.number - 1) * ruler.beats + beat);
        if (time > bar.end - SLACK) break;
        const x = this.x(time);
        yield line(x, this.top, x, this.bottom, 'beat');
      }
      yield line(this.x(bar.start), this.top - 32, this.x(bar.start), this.bottom, 'bar');
    }
    yield line(this.x(this.row.end), this.top - 32, this.x(this.row.end), this.bottom, 'bar');
  }

  private lane(lane: Lane, y: number, height: number): string[] {
    switch (lane.type) {
      case 'gate':
        return this.gate(lane.marks, y + 6, y + height - 3);
      case 'steps':
        return this.steps(lane.marks, y + 2, height - 4);
      default:
        return this.envelope(lane, y + 3, y + height - 10);
    }
  }

  private gate(
    marks: Extract<Lane, { type: 'gate' }>['marks'],
    high: number,
    low: number,
  ): string[] {
    const [left, right] = [this.x(this.row.start), this.x(this.row.end)];
    const points: [number, number][] = [[left, low]];
    const others: string[] = [];
    for (const { start, end, accent, cause } of this.within(marks)) {
      const from = Math.max(left, this.x(start));
      const to = Math.min(right, this.x(end));
      points.push([from, low], [from, high], [to, high], [to, low]);
      others.push(rect(from, high, to - from, low - high, 'high'));
      if (cause === 'ghost') others.push(dot(from, high - 3, 'ghost'));
      if (!accent) continue;
      others.push(line(from, high - 2, from, low, 'accentline'));
      others.push(dot(from, high - 3));
    }
    points.push([right, low]);
    return [path(points, 'trace'), ...others];
  }

  private steps(
    marks: Extract<Lane, { type: 'steps' }>['marks'],
    y: number,
    height: number,
  ): string[] {
    const boxes = marks.flatMap(({ start, position }, index) => {
      const end = Math.min(marks[index + 1]?.start ?? this.score.seconds, this.row.end);
      if (!this.isHere(start, end)) return [];
      const from = Math.max(this.x(this.row.start), this.x(start));
      const width = this.x(end) - from;
      const box = rect(from, y, width, height, position === 1 ? 'first' : 'box');
      const number =
        width < ROOM_FOR_NUMBER
          ? ''
          : text(from + width / 2, y + height - 3, String(position), 'number');
      return [{ drawn: box + number, first: position === 1 }];
    });
    // The outline of a first step lies over its neighbours'.
    return boxes.toSorted((a, b) => Number(a.first) - Number(b.first)).map(({ drawn }) => drawn);
  }

  private envelope(lane: Extract<Lane, { type: 'phases' }>, high: number, low: number): string[] {
    const { curve, peak, marks } = lane;
    const { start, end } = this.row;
    const points: [number, number][] = [];
    // Points closer than half a unit are one: the highest.
    const bins = Math.max(1, Math.floor(0.5 / (this.scale * CURVE_SECONDS)));
    // A mark that the row's end cuts through may belong to the next row.
    const last = Math.min(Math.floor(end / CURVE_SECONDS), curve.length);
    for (let bin = Math.floor(start / CURVE_SECONDS); bin < last; bin += bins) {
      const volts = curve.slice(bin, bin + bins).reduce((most, v) => Math.max(most, v), 0);
      const time = Math.min(Math.max(bin * CURVE_SECONDS, start), end);
      points.push([this.x(time), low - (volts / peak) * (low - high)]);
    }
    const phases = marks.flatMap(({ start: from, phase }, index) => {
      const to = Math.min(marks[index + 1]?.start ?? this.score.seconds, end);
      if (phase === 'rest' || !this.isHere(from, to)) return [];
      const left = this.x(Math.max(from, start));
      return [rect(left, low + 3, this.x(to) - left, 5, phase)];
    });
    const zero = line(this.x(start), low, this.x(end), low, 'zero');
    return [zero, path(withoutLevels(points), 'trace'), ...phases];
  }

  /** What starts at the very end of the row, rounded to a sample, is on the next. */
  private isHere(start: number, end: number): boolean {
    const half = 0.5 / this.score.sampleRate;
    return end > this.row.start + half && start < this.row.end - half;
  }

  private within<T extends { readonly start: number; readonly end: number }>(
    marks: readonly T[],
  ): T[] {
    return marks.filter(({ start, end }) => this.isHere(start, end));
  }
}

/** Leaves out the points inside a level stretch. */
function withoutLevels(points: readonly [number, number][]): [number, number][] {
  const y = (index: number): string => coordinate(points[index]?.[1] ?? Number.NaN);
  return points.filter((_, index) => y(index) !== y(index - 1) || y(index) !== y(index + 1));
}

/** Lines of text in columns; one of a single column may be as long as it is. */
function captions(score: TimeScore): (readonly string[])[] {
  const { answers, followers, meetings } = scoreWords(score);
  return [
    ...(answers.length === 0 ? [] : [ANSWER_HEADS]),
    ...answers,
    ...[...followers, ...meetings].map((sentence) => [sentence]),
  ];
}

function columns(cells: readonly string[], y: number): string {
  return cells.map((cell, index) => text(FILE.left + index * COLUMN, y, cell, 'quiet')).join('');
}

function hasPhase(lanes: readonly Lane[], phase: Phase): boolean {
  return lanes.some(
    (lane) => lane.type === 'phases' && lane.marks.some((mark) => mark.phase === phase),
  );
}

const PHASES: readonly Phase[] = ['attack', 'decay', 'sustain', 'release', 'cut'];

function legend({ lanes }: TimeScore, frame: Frame, scale: number, y: number): string {
  const parts: string[] = [];
  let x = frame.left;
  const add = (sign: (x: number) => string, word: string): void => {
    parts.push(sign(x), text(x + 24, y, word, 'quiet'));
    x += 40 + word.length * 6;
  };
  const has = (type: Lane['type']): boolean => lanes.some((lane) => lane.type === type);
  if (lanes.some((lane) => lane.type === 'gate' && lane.marks.some(({ accent }) => accent)))
    add((at) => line(at + 8, y - 9, at + 8, y + 2, 'accentline') + dot(at + 8, y - 10), 'accented');
  if (
    lanes.some((lane) => lane.type === 'gate' && lane.marks.some(({ cause }) => cause === 'ghost'))
  )
    add((at) => dot(at + 8, y - 4, 'ghost'), 'ghost');
  if (has('steps')) add((at) => rect(at, y - 9, 18, 11, 'first'), 'step 1 of a follower');
  if (has('phases'))
    for (const phase of PHASES.filter((one) => hasPhase(lanes, one)))
      add((at) => rect(at, y - 7, 18, 5, phase), phase);
  const ruler = scale * RULER_SECONDS;
  const left = frame.right - ruler;
  parts.push(
    line(left, y - 4, left + ruler, y - 4, 'beat'),
    line(left, y - 8, left, y, 'beat'),
    line(left + ruler, y - 8, left + ruler, y, 'beat'),
    text(left - 6, y, `${RULER_SECONDS * 1000} ms`, 'quiet name'),
  );
  return parts.join('\n');
}
