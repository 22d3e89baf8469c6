/** The licence notices of a document's programs, at its foot: whoever gets the programs gets them too. */

import { escaped } from '../markup.ts';

/** Its style. On paper there are no programs. */
export const NOTICES_STYLE = `footer{margin-top:2rem;font-size:.85rem}
footer pre{overflow-x:auto;white-space:pre-wrap}
@media print{footer{display:none}}
`;

/** Writes a line, a link and what it leads to. @param text the notices, as the build wrote them. */
export function noticesFooter(text: string): string {
  return `<footer>
<p class="quiet">Made with Forehear, whose programs are in this page: <a href="#licences">their licences</a>.</p>
<details><summary>Licences</summary>
<pre id="licences">${escaped(text.trim())}</pre>
</details>
</footer>
`;
}
