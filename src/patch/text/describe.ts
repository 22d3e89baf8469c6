/** Turns a problem, or any place with a message, into the text that a person reads. */

import { printable } from '../../text/printable.ts';
import type { Fault } from '../units.ts';
import type { Place } from './place.ts';
import type { Problem } from './problem.ts';
import { withoutMark } from './source.ts';

/** Columns of a line of source as shown. */
const WIDTH = 80;
const INDENT = '  ';
/** Columns between tab stops. */
const TAB = 4;
/** Code units to either side that are sure to fill a line, marks that take no width included. */
const NEAR = 400;

/**
 * Describes a problem in a few lines: place and message, the line of the source with carets under
 * the stretch that is meant, what was expected, and the nearest legal name.
 * @param sourceOf gives the text of a file; without it the source is left out.
 */
export function describeProblem(
  problem: Problem,
  sourceOf: (file: string) => string | undefined,
): string {
  const { place, message, expected, nearest } = problem;
  return [
    `${printable(place.file)}:${place.line}:${place.column}: ${printable(message)}`,
    ...framePlace(place, sourceOf(place.file)),
    ...advice(expected, nearest).map((line) => `${INDENT}${printable(line)}`),
  ].join('\n');
}

/** The line of a place, cut to 80 columns around it, and carets under it; none without a source. */
export function framePlace(place: Place, source: string | undefined): readonly string[] {
  const line = source === undefined ? undefined : lineOf(withoutMark(source), place.line);
  if (line === undefined || line.trim() === '') return [];
  // No need to measure all of a very long line.
  const skipped = Math.max(0, place.column - NEAR);
  const near = line.slice(skipped, skipped + 3 * NEAR);
  const { cells, at, length } = cellsOf(near, place.column - 1 - skipped, place.length);
  const { from, to } = cutOf(cells, at, length);
  const head = from + skipped > 0 ? '…' : '';
  const tail = to < cells.length || skipped + near.length < line.length ? '…' : '';
  const shown = cells.slice(from, to).map(({ text }) => text);
  const before = columns(cells.slice(from, at)) + head.length;
  const under = Math.max(1, columns(cells.slice(at, Math.min(at + length, to))));
  return [
    `${INDENT}${head}${shown.join('')}${tail}`.trimEnd(),
    `${INDENT}${' '.repeat(before)}${'^'.repeat(under)}`,
  ];
}

/** What one code point takes on the screen. */
interface ScreenCell {
  readonly text: string;
  readonly width: number;
}

/** The line as cells, and the stretch of them that covers `units` code units from `start`. */
function cellsOf(
  line: string,
  start: number,
  units: number,
): { cells: ScreenCell[]; at: number; length: number } {
  const cells: ScreenCell[] = [];
  let unit = 0;
  let column = 0;
  let at: number | undefined;
  let length = 0;
  for (const point of line) {
    const cell = cellOf(point, column);
    if (unit + point.length > start) {
      at ??= cells.length;
      if (unit < start + units) length++;
    }
    cells.push(cell);
    unit += point.length;
    column += cell.width;
  }
  return { cells, at: at ?? cells.length, length: Math.max(1, length) };
}

/** Ranges shown in two columns: the W and F classes of Unicode's UAX #11 that people write with. */
const WIDE =
  /[\p{Script=Han}\p{Script=Hangul}\p{Script=Hiragana}\p{Script=Katakana}\p{Emoji_Presentation}\u3000-\u303E\uFF01-\uFF60\uFFE0-\uFFE6]/u;

function cellOf(point: string, column: number): ScreenCell {
  if (point === '\t') {
    const width = TAB - (column % TAB);
    return { text: ' '.repeat(width), width };
  }
  if (/\p{M}/u.test(point)) return { text: point, width: 0 };
  return { text: printable(point), width: WIDE.test(point) ? 2 : 1 };
}

/** The cells to show so that the line fits: all, or a window with the place near its middle. */
function cutOf(
  cells: readonly ScreenCell[],
  at: number,
  length: number,
): { from: number; to: number } {
  const room = WIDTH - INDENT.length;
  if (columns(cells) <= room) return { from: 0, to: cells.length };
  // Two columns are for the dots at either end.
  const spare = room - 2;
  const ahead = Math.max(0, Math.floor((spare - columns(cells.slice(at, at + length))) / 2));
  let from = Math.min(at, cells.length);
  for (let width = 0; from > 0; from--) {
    width += (cells[from - 1] as ScreenCell).width;
    if (width > ahead) break;
  }
  let to = from;
  for (let width = 0; to < cells.length; to++) {
    width += (cells[to] as ScreenCell).width;
    if (width > spare) break;
  }
  // Near the end of the line there is room to the left.
  while (to === cells.length && from > 0 && columns(cells.slice(from - 1, to)) <= spare) from--;
  return { from, to };
}

function columns(cells: readonly ScreenCell[]): number {
  return cells.reduce((sum, { width }) => sum + width, 0);
}

function lineOf(text: string, number: number): string | undefined {
  return text.split(/\r\n|\r|\n/, number)[number - 1];
}

/** What is wrong with a value that has no place in a file, such as one that is typed into a page. */
export function describeFault({ message, expected, nearest }: Fault): string {
  return [message, ...advice(expected, nearest)].join('\n');
}

/** What would be right. */
function advice(expected: string | undefined, nearest: string | undefined): readonly string[] {
  return [
    ...(expected === undefined ? [] : [`expected ${expected}`]),
    ...(nearest === undefined ? [] : [`did you mean ${nearest}?`]),
  ];
}
