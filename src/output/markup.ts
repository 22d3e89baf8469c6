/** Words in HTML and SVG. */

/** Escapes what markup would take for its own, in texts and in attributes. */
export function escaped(words: string): string {
  return words
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;');
}
