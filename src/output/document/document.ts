/**
 * The HTML around every page: its head, its numbered sections and, for a page that can be played with,
 * the scripts and what they read. A Content Security Policy names by their hashes the only scripts and
 * styles that run, whatever a patch's texts say; what else a page may load, it has to say.
 *
 * Source: Content Security Policy Level 3, W3C; HTML Living Standard, 13.2.5.19, what ends a script.
 */

import { createHash } from 'node:crypto';
import { printable } from '../../text/printable.ts';
import { embedded, escaped } from '../markup.ts';
import { NOTICES_STYLE, noticesFooter } from './notices.ts';
import { DOCUMENT_STYLE } from './style.ts';

export interface PageSection {
  /** Also the id of its heading. */
  readonly name: string;
  readonly heading: string;
  /** Markup: elements that scripts may fill. */
  readonly body: string;
}

/** Sections under one another that scroll by themselves. */
export interface Column {
  readonly label: string;
  readonly sections: readonly PageSection[];
}

/** What makes a page one to play with. */
export interface Live {
  /** Beside the page's own. */
  readonly style: string;
  /** Runs when the page is there. */
  readonly script: string;
  /** Programs for the script to start, by the ids of their elements. */
  readonly programs?: Readonly<Record<string, string>>;
  /** What the script reads, as JSON, by the ids of its elements. */
  readonly data: Readonly<Record<string, unknown>>;
  /** The licences of its programs. */
  readonly notices: string;
  /** What it may use beyond its script and style: sources by directive. */
  readonly sources?: Sources;
}

/** Sources by directive, such as `{ 'worker-src': 'blob:' }`. */
export type Sources = Readonly<Record<string, string>>;

export interface Page {
  readonly title: string;
  /** Beside that of every page. */
  readonly style: string;
  /** Where the first link leads, for people who do not want to hear the header each time. */
  readonly skip: { readonly to: string; readonly words: string };
  /** Markup. */
  readonly header: string;
  /** What comes before all sections, and between the columns and the rest. Markup. */
  readonly lead?: string;
  readonly about?: string;
  /** What stands beside one another where there is room, before the sections. */
  readonly columns?: readonly Column[];
  readonly sections: readonly PageSection[];
  /** What it may load beyond its style and pictures that are in it. */
  readonly sources?: Sources;
  readonly live?: Live;
}

/** Id of an element after the scripts: by then the interface is in place. */
const MOUNTED = 'mounted';
/**
 * Asks that nothing is painted before that, so that nothing moves when the interface comes (HTML, link type
 * "expect"). A browser that does not know it paints sooner.
 */
const MOUNTED_FIRST = `<link rel="expect" href="#${MOUNTED}" blocking="render">
`;

/** Writes the document. */
export function documentOf(page: Page): string {
  const { title, skip, header, lead = '', columns = [], about = '', sections, live } = page;
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policyOf(page)}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<link rel="icon" href="data:,">
<title>${escaped(title)}</title>
${live === undefined ? '' : MOUNTED_FIRST}<style>${styleOf(page)}</style>
</head>
<body>
<a class="skip" href="#${skip.to}">${escaped(skip.words)}</a>
<header>
${header}
</header>
<main>
${lead}${columns.length === 0 ? '' : `<div class="columns">${columns.map(columnOf).join('\n')}</div>\n`}${about === '' ? '' : `<div class="about">${about}</div>\n`}${sections.map(sectionOf).join('\n')}
</main>
${live === undefined ? '' : noticesFooter(live.notices) + scripts(live)}</body>
</html>
`;
}

function columnOf({ label, sections }: Column): string {
  // A group that takes the focus, as scrolling by keys needs it.
  return `<div class="column" role="group" tabindex="0" aria-label="${escaped(label)}">
${sections.map(sectionOf).join('\n')}
</div>`;
}

function sectionOf({ name, heading, body }: PageSection): string {
  return `<section aria-labelledby="${name}">
<h2 id="${name}">${escaped(heading)}</h2>
${body}
</section>`;
}

/** The policy of a page, for its head; a server sends it as well. */
export function policyOf(page: Page): string {
  const { live } = page;
  const sources: Record<string, string> = {
    'default-src': "'none'",
    'style-src': hashOf(styleOf(page)),
    'img-src': 'data:',
    ...(live && { 'script-src': hashOf(inert(live.script)) }),
    'base-uri': "'none'",
    'form-action': "'none'",
  };
  for (const [directive, more] of [page.sources, live?.sources].flatMap((one) =>
    Object.entries(one ?? {}),
  ))
    sources[directive] = directive in sources ? `${sources[directive]} ${more}` : more;
  return Object.entries(sources)
    .map(([directive, allowed]) => `${directive} ${allowed}`)
    .join('; ');
}

function styleOf({ title, style, live }: Page): string {
  const own = `${DOCUMENT_STYLE}@page{@top-left{content:"${inStyle(title)}"}}\n${style}`;
  return live === undefined ? own : own + live.style + NOTICES_STYLE;
}

/** A text in a string of CSS: all but plain letters and digits by their numbers (CSS Syntax Level 3, 4.3.7). */
function inStyle(text: string): string {
  return [...printable(text)]
    .map((one) => (/^[A-Za-z0-9 ]$/.test(one) ? one : `\\${one.codePointAt(0)?.toString(16)} `))
    .join('');
}

function hashOf(text: string): string {
  return `'sha256-${createHash('sha256').update(text).digest('base64')}'`;
}

function scripts({ programs = {}, data, script }: Live): string {
  const all = [
    ...Object.entries(data).map(
      ([id, value]) => `<script type="application/json" id="${id}">${embedded(value)}</script>`,
    ),
    ...Object.entries(programs).map(
      ([id, text]) => `<script type="text/plain" id="${id}">${inert(text)}</script>`,
    ),
    `<script>${inert(script)}</script>`,
    `<span id="${MOUNTED}" hidden></span>`,
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
