/** Where a line of text may be broken. */

/** White space, but not between a number and its unit. */
const BREAKS =
  /(?<!\d)\s+|\s+(?!(?:%|[numμ]?s|min|[kM]?Hz|[mk]?V|[kM]?(?:ohm|Ω)|dB\w*|LUFS|LU|bpm|st|cents|bits)(?!\w))/;

/** The words of a text, a number and its unit being one. */
export function wholeWords(text: string): readonly string[] {
  return text.split(BREAKS);
}
