/** Words, code and tables in Markdown. Source: CommonMark 0.31.2, 2.4; tables and `~` as GitHub has them. */

/** Words in which nothing is markup, and none of which breaks a line or a table. */
export function escapedMarkdown(words: string): string {
  return words
    .trim()
    .replace(/\s+/g, ' ')
    .replace(/[\\`*_[\]<>|#&~]/g, (mark) => `\\${mark}`);
}

/** A name as code; as escaped words if code cannot hold it. */
export function markdownCode(words: string): string {
  return /[`\n|<]/.test(words) ? escapedMarkdown(words) : `\`${words}\``;
}

/** A table. @param rows cells in Markdown, each in one line. */
export function markdownTable(
  heads: readonly string[],
  rows: readonly (readonly string[])[],
): string {
  const row = (cells: readonly string[]): string => `| ${cells.join(' | ')} |`;
  return [row(heads), `|${'---|'.repeat(heads.length)}`, ...rows.map(row)].join('\n');
}
