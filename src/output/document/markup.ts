/** Markup that the parts of a sheet share. */

import { escaped } from '../markup.ts';

/** Counts the figures. */
export class Numbering {
  private figures = 0;

  /** @param content is markup; `caption` is not. */
  figure(content: string, caption: string): string {
    this.figures += 1;
    const name = `Figure ${this.figures}`;
    return `<figure>
${scrolled(content, name)}
<figcaption><b>${name}.</b> ${escaped(caption)}</figcaption>
</figure>`;
  }
}

/** What may be wider than a narrow screen scrolls by itself, with the keyboard too. */
export function scrolled(content: string, name: string): string {
  return `<div class="wide" tabindex="0" role="group" aria-label="${escaped(name)}">${content}</div>`;
}

export interface FoldMarkup {
  /** Tells it from all others of the page, and stays the same: by it a page keeps it open. */
  readonly name: string;
  /** Markup. */
  readonly summary: string;
  readonly content: string;
  readonly isOpen?: boolean;
}

/** Always open on paper; on a screen, once someone opens it. */
export function folded({ name, summary, content, isOpen = false }: FoldMarkup): string {
  return `<details class="fold" data-fold="${escaped(name)}"${isOpen ? ' open=""' : ''}>
<summary>${summary}</summary>
${content}
</details>`;
}

/** The same with all that is folded open. */
export function unfolded(markup: string): string {
  return markup.replaceAll(/<details class="fold" data-fold="[^"]*"(?=>)/g, '$& open=""');
}

/** The first cell of a row names it. */
export function tableOf(
  heads: readonly string[],
  rows: readonly (readonly string[])[],
  caption: string,
  style: string,
): string {
  const body = rows.map(
    ([first = '', ...cells]) =>
      `<tr><th scope="row">${escaped(first)}</th>${cells.map((cell) => `<td>${escaped(cell)}</td>`).join('')}</tr>`,
  );
  return `<table class="${style}">
<caption>${escaped(caption)}</caption>
<thead><tr>${heads.map((head) => `<th scope="col">${escaped(head)}</th>`).join('')}</tr></thead>
<tbody>
${body.join('\n')}
</tbody>
</table>`;
}

export function list(sentences: readonly string[]): string {
  if (sentences.length === 0) return '';
  return `<ul>${sentences.map((sentence) => `<li>${escaped(sentence)}</li>`).join('')}</ul>`;
}
