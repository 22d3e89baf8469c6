/**
 * What a document says beside its subject: cautions for people and gear, in every sheet and on every page that
 * sounds, and at its foot the licences of its programs, since whoever gets the programs gets them too.
 */

import { escaped } from '../markup.ts';

export const LISTENING_CARE =
  'Start with the volume low: a click, a resonance or noise at full scale can hurt ears and loudspeakers.';

export const CARE: readonly string[] = [
  LISTENING_CARE,
  'Gates and control volts are direct current: never send them to headphones, loudspeakers or a line that is not made for it.',
  'Check your instrument’s own limits before you drive an input from an audio interface.',
  'Power modules down before you touch anything but patch cables; mains wiring is for qualified people and local rules.',
];

/** The style of the licences. On paper there are no programs. */
export const NOTICES_STYLE = `footer{margin-top:2rem;font-size:.85rem}
footer pre{overflow-x:auto;white-space:pre-wrap}
@media print{footer{display:none}}
`;

/** The licences: a line, a link and what it leads to. @param text the notices, as the build wrote them. */
export function noticesFooter(text: string): string {
  return `<footer>
<p class="quiet">Made with Forehear, whose programs are in this page: <a href="#licences">their licences</a>.</p>
<details><summary>Licences</summary>
<pre id="licences">${escaped(text.trim())}</pre>
</details>
</footer>
`;
}
