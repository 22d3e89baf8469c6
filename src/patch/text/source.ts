/** The text of one file, and the way from an offset in it to a line and a column. */

import type { Place } from './place.ts';

export interface SourceText {
  readonly file: string;
  readonly text: string;
  /** Offset of the first character of each line. */
  readonly lineStarts: readonly number[];
}

/**
 * Prepares a text for reading: no byte-order mark, and a lone carriage return is a line break (YAML
 * 1.2.2, 5.2 and 5.4). Offsets count UTF-16 code units after the mark.
 */
export function sourceOf(file: string, text: string): SourceText {
  const clean = withoutMark(text).replace(/\r(?!\n)/g, '\n');
  const lineStarts = [0];
  for (let i = clean.indexOf('\n'); i >= 0; i = clean.indexOf('\n', i + 1)) lineStarts.push(i + 1);
  return { file, text: clean, lineStarts };
}

/** Drops a byte-order mark, which no editor shows as a column. */
export function withoutMark(text: string): string {
  return text.startsWith('\uFEFF') ? text.slice(1) : text;
}

/** The place from `start` to `end`, cut at the end of its first line and at least 1 long. */
export function placeAt(source: SourceText, start: number, end: number): Place {
  const { lineStarts, text } = source;
  const at = Math.min(Math.max(start, 0), text.length);
  let low = 0;
  let high = lineStarts.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if ((lineStarts[middle] as number) <= at) low = middle;
    else high = middle - 1;
  }
  const lineStart = lineStarts[low] as number;
  const next = lineStarts[low + 1];
  const lineEnd = next === undefined ? text.length : next - (text[next - 2] === '\r' ? 2 : 1);
  return {
    file: source.file,
    line: low + 1,
    column: at - lineStart + 1,
    length: Math.max(1, Math.min(end, lineEnd) - at),
  };
}
