/** Text in columns, for terminals. */

import { largest } from '../modules/dsp/extremes.ts';

/** Columns between two cells of a row. */
const GAP = 2;
/** Where text is broken when the terminal's width is not known, as when a file takes the output. */
const USUAL_WIDTH = 100;

/**
 * Lines cells up in columns; the last column is broken over several lines if it is too long.
 * @param indent columns in front of each row.
 */
export function table(rows: readonly (readonly string[])[], indent = 0): string {
  const columns = largest(
    rows.map((row) => row.length),
    0,
  );
  const widths = Array.from({ length: columns }, (_, column) =>
    largest(
      rows.map((row) => (row[column] ?? '').length),
      0,
    ),
  );
  const before = widths.slice(0, -1).reduce((sum, width) => sum + width + GAP, indent);
  const room = Math.max(20, terminalWidth() - before);
  return rows
    .map((row) => {
      const lead = widths
        .slice(0, -1)
        .map((width, column) => (row[column] ?? '').padEnd(width + GAP))
        .join('');
      const [first = '', ...others] = breakLines(row[columns - 1] ?? '', room);
      return [
        `${' '.repeat(indent)}${lead}${first}`,
        ...others.map((line) => `${' '.repeat(before)}${line}`),
      ]
        .map((line) => line.trimEnd())
        .join('\n');
    })
    .join('\n');
}

/** Breaks a paragraph at the terminal's width. */
export function wrapped(text: string): string {
  return breakLines(text, terminalWidth()).join('\n');
}

function terminalWidth(): number {
  return process.stdout.columns ?? USUAL_WIDTH;
}

function breakLines(text: string, width: number): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/\s+/)) {
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
