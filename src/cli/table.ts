/** Text in columns, for terminals. */

import { largest } from '../modules/dsp/extremes.ts';
import { wholeWords } from '../patch/text/whole-words.ts';

/** Columns between two cells of a row. */
const GAP = 2;
/** Where text is broken when the terminal's width is not known, as when a file takes the output. */
const USUAL_WIDTH = 100;

/** The narrowest that a column becomes, however many there are. */
const NARROWEST = 12;

/**
 * Lines cells up in columns. Where they are too wide for the terminal, the last column is broken over
 * several lines, and then the widest one.
 * @param indent columns in front of each row.
 */
export function table(rows: readonly (readonly string[])[], indent = 0): string {
  const count = largest(
    rows.map((row) => row.length),
    0,
  );
  const widest = Array.from({ length: count }, (_, column) =>
    largest(
      rows.map((row) => (row[column] ?? '').length),
      0,
    ),
  );
  const widths = fitted(widest, terminalWidth() - indent - GAP * (count - 1));
  return rows
    .map((row) => {
      const cells = widths.map((width, column) => {
        const cell = row[column] ?? '';
        // Spaces that line up a number are kept.
        if (column < count - 1)
          return cell.length <= width ? [cell] : breakLines(cell, width).flatMap(piecesOf(width));
        // What stands last may be longer: a path is kept whole.
        return breakLines(cell, width);
      });
      const height = largest(
        cells.map((lines) => lines.length),
        1,
      );
      return Array.from({ length: height }, (_, line) => {
        const parts = cells.map((lines, column) =>
          (lines[line] ?? '').padEnd((widths[column] as number) + GAP),
        );
        return `${' '.repeat(indent)}${parts.join('')}`.trimEnd();
      }).join('\n');
    })
    .join('\n');
}

/** The widths of columns that share the given width: the last shrinks first, then the widest. */
function fitted(widest: readonly number[], room: number): readonly number[] {
  const widths = [...widest];
  const last = widths.length - 1;
  let over = widths.reduce((sum, width) => sum + width, 0) - room;
  const least = Math.min(widths[last] ?? 0, 2 * NARROWEST);
  const given = Math.max(0, Math.min(over, (widths[last] ?? 0) - least));
  if (last >= 0) widths[last] = (widths[last] as number) - given;
  over -= given;
  for (; over > 0; over--) {
    const at = widths.reduce(
      (most, width, column) => (width > (widths[most] ?? 0) ? column : most),
      0,
    );
    if ((widths[at] ?? 0) <= NARROWEST) break;
    widths[at] = (widths[at] as number) - 1;
  }
  return widths;
}

/** Breaks a paragraph at the terminal's width. */
export function wrapped(text: string): string {
  return breakLines(text, terminalWidth()).join('\n');
}

function terminalWidth(): number {
  return process.stdout.columns ?? USUAL_WIDTH;
}

/** Where a word that is wider than its column may be broken: after a mark, otherwise anywhere. */
const MARKS = /[./,:_-][^./,:_-]*$/;

function piecesOf(width: number): (word: string) => readonly string[] {
  return (word) => {
    const pieces: string[] = [];
    let rest = word;
    while (rest.length > width) {
      const mark = rest.slice(0, width).search(MARKS);
      const at = mark > 0 ? mark + 1 : width;
      pieces.push(rest.slice(0, at));
      rest = rest.slice(at);
    }
    return [...pieces, rest];
  };
}

function breakLines(text: string, width: number): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of wholeWords(text)) {
    if (line !== '' && line.length + 1 + word.length > width) {
      lines.push(line);
      line = word;
    } else {
      line = line === '' ? word : `${line} ${word}`;
    }
  }
  lines.push(line);
  return lines;
}
