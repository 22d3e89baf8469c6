/**
 * The HTML around a sheet: its head, its numbered sections and, for a sheet that can be played with,
 * the scripts and what they read. A Content Security Policy names by their hashes the only scripts and
 * styles that run, whatever a patch's texts say; nothing is loaded from anywhere.
 *
 * Source: Content Security Policy Level 3, W3C; HTML Living Standard, 13.2.5.19, what ends a script.
 */

import { createHash } from 'node:crypto';
import { embedded, escaped } from '../markup.ts';
import { NOTICES_STYLE, noticesFooter } from '../notices.ts';

export interface Section {
  /** Also the id of its heading. */
  readonly name: string;
  readonly heading: string;
  /** Markup: elements that scripts may fill. */
  readonly body: string;
}

/** What makes a sheet one to play with. */
export interface Live {
  /** Beside the sheet's own. */
  readonly style: string;
  /** Runs when the page is there. */
  readonly script: string;
  /** Programs for the script to start, by the ids of their elements. */
  readonly programs: Readonly<Record<string, string>>;
  /** What the script reads, as JSON, by the ids of its elements. */
  readonly data: Readonly<Record<string, unknown>>;
  /** The licences of its programs. */
  readonly notices: string;
  /** Whether the script may ask the host that the page comes from. */
  readonly connects: boolean;
}

export interface SheetDocument {
  readonly title: string;
  readonly style: string;
  /** Markup. */
  readonly header: string;
  readonly sections: readonly Section[];
  readonly live?: Live;
}

/** Writes the document. */
export function sheetDocument(document: SheetDocument): string {
  const { title, header, sections, live } = document;
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policyOf(document)}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<link rel="icon" href="data:,">
<title>${escaped(title)}</title>
<style>${styleOf(document)}</style>
</head>
<body>
<a class="skip" href="#cables">To the cable list</a>
<header>
${header}
</header>
<main>
${sections
  .map(
    ({ name, heading, body }) => `<section aria-labelledby="${name}">
<h2 id="${name}">${escaped(heading)}</h2>
${body}
</section>`,
  )
  .join('\n')}
</main>
${live === undefined ? '' : noticesFooter(live.notices) + scripts(live)}</body>
</html>
`;
}

/** The policy of a document, for its head; a server sends it as well. */
export function policyOf(document: SheetDocument): string {
  const { live } = document;
  const own = [
    "default-src 'none'",
    `style-src ${hashOf(styleOf(document))}`,
    `img-src data:${live === undefined ? '' : ' blob:'}`,
    `media-src data:${live === undefined ? '' : ' blob:'}`,
    "base-uri 'none'",
    "form-action 'none'",
  ];
  if (live === undefined) return own.join('; ');
  return [
    ...own,
    // The engine is WebAssembly; it and the player's own thread start from the page's texts.
    `script-src ${hashOf(inert(live.script))} blob: 'wasm-unsafe-eval'`,
    'worker-src blob:',
    ...(live.connects ? ["connect-src 'self'"] : []),
  ].join('; ');
}

function styleOf({ style, live }: SheetDocument): string {
  return live === undefined ? style : style + live.style + NOTICES_STYLE;
}

function hashOf(text: string): string {
  return `'sha256-${createHash('sha256').update(text).digest('base64')}'`;
}

function scripts({ programs, data, script }: Live): string {
  const all = [
    ...Object.entries(data).map(
      ([id, value]) => `<script type="application/json" id="${id}">${embedded(value)}</script>`,
    ),
    ...Object.entries(programs).map(
      ([id, text]) => `<script type="text/plain" id="${id}">${inert(text)}</script>`,
    ),
    `<script>${inert(script)}</script>`,
  ];
  return `${all.join('\n')}\n`;
}

/**
 * A program as an element can hold it: what would end the element, or open a comment in it, only
 * stands in texts and patterns, where an escape means the same.
 */
function inert(program: string): string {
  return program.replace(/<(?=!--|\/?script)/gi, '\\x3c');
}
