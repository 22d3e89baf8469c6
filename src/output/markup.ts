/** Words in HTML and SVG. */

import { jsonText, printableLines } from '../text/printable.ts';

/** Escapes what markup would take for its own, in texts and in attributes. */
export function escaped(words: string): string {
  return printableLines(words)
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;');
}

/**
 * The name of a file as where a link leads, in HTML and in Markdown: a space would end it there, `#` would
 * cut it short, a bracket close it. Source: RFC 3986, 2.1; CommonMark 0.31.2, 6.3.
 */
export function linkTo(name: string): string {
  return encodeURIComponent(name).replace(
    /[()']/g,
    (mark) => `%${mark.charCodeAt(0).toString(16)}`,
  );
}

/** A value as JSON inside a script element, which no word in it can end. */
export function embedded(value: unknown): string {
  return jsonText(value).replaceAll('<', '\\u003c');
}

/** Figures with a minus, as charts have it, instead of the hyphen that a script reads. */
export function withMinus(words: string): string {
  return words.replaceAll(/(?<![^\s(])-(?=\d)/g, '\u2212');
}
