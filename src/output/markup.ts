/** Words in HTML and SVG. */

import { jsonText, printableLines } from '../patch/text/printable.ts';

/** Escapes what markup would take for its own, in texts and in attributes. */
export function escaped(words: string): string {
  return printableLines(words)
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;');
}

/** A value as JSON inside a script element, which no word in it can end. */
export function embedded(value: unknown): string {
  return jsonText(value).replaceAll('<', '\\u003c');
}

/** Figures with a minus, as charts have it, instead of the hyphen that a script reads. */
export function withMinus(words: string): string {
  return words.replaceAll(/(?<![^\s(])-(?=\d)/g, '\u2212');
}
