/**
 * The page to listen on: one HTML file beside the clips, which needs no network. Two clips can be
 * switched at the same place of the loop, and told apart blind.
 */

import { colourVariables, DARK, PRINT } from './chart/colours.ts';
import { LISTENING_SCRIPT } from './listening-page-script.ts';
import { embedded, escaped } from './markup.ts';
import { NOTICES_STYLE, noticesFooter } from './notices.ts';

export interface PageClip {
  readonly name: string;
  /** Beside the page. */
  readonly file: string;
  /** Hz. */
  readonly sampleRate: number;
  /** What the table says of it, in the order of `columns`. */
  readonly cells: readonly string[];
  /** The file itself, in base 64; without it the page looks for it beside itself. */
  readonly data?: string;
}

export interface ListeningPage {
  readonly title: string;
  readonly about: string;
  /** How the clips were made alike. */
  readonly level: string;
  readonly columns: readonly string[];
  readonly clips: readonly PageClip[];
  /** SVG, in the colours of `IN_PAGE`. */
  readonly chart: string;
  readonly pairs?: readonly (readonly [a: string, b: string, difference: string])[];
  /** The licence of its script. */
  readonly notices: string;
}

/** What a browser opens readily: bytes of clips that are put into the page itself. */
export const MOST_EMBEDDED = 24 * 1024 * 1024;

/** Makes the page. @param page has at least one clip. */
export function listeningPage(page: ListeningPage): string {
  const { title, about, level, clips } = page;
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>${escaped(title)}: comparison</title>
<style>
${STYLE}${NOTICES_STYLE}</style>
</head>
<body>
<header>
<h1>${escaped(title)}</h1>
${about === '' ? '' : `<p>${escaped(about)}</p>\n`}<p>${escaped(level)}</p>
<p class="care">Start with the volume low: noise, clicks and resonances can hurt ears and loudspeakers.</p>
</header>
<main>
<p id="status" role="status" aria-live="polite"></p>
${listenSection(clips)}
${BLIND_SECTION}
${tableSection(page)}
<section data-named aria-labelledby="h-pictures">
<h2 id="h-pictures">Pictures</h2>
<div class="wide" tabindex="0" role="group" aria-label="Charts of all clips">${page.chart}</div>
</section>
${pairsSection(page.pairs)}
</main>
<noscript><p>Listening here needs JavaScript; the clips lie beside this page.</p></noscript>
${noticesFooter(page.notices)}<script type="application/json" id="clips">${jsonIn(clips)}</script>
<script>
${LISTENING_SCRIPT}</script>
</body>
</html>
`;
}

function listenSection(clips: readonly PageClip[]): string {
  const side = (name: string, chosen: number): string =>
    `<label for="side-${name}">${name.toUpperCase()}</label>
<select id="side-${name}">${clips
      .map(
        (clip, index) =>
          `<option value="${index}"${index === chosen ? ' selected' : ''}>${escaped(clip.name)}</option>`,
      )
      .join('')}</select>
<button type="button" id="hear-${name}" aria-pressed="false" aria-keyshortcuts="${name}">Hear ${name.toUpperCase()}</button>`;
  return `<section aria-labelledby="h-listen">
<h2 id="h-listen">Listen</h2>
<div class="sides" data-named>
<div class="side">${side('a', 0)}</div>
<div class="side">${side('b', Math.max(0, clips.length - 1))}</div>
</div>
<div class="transport">
<button type="button" id="play" aria-pressed="false">Play</button>
<span class="slid wide-slid"><label for="position">Place in the loop</label>
<input id="position" type="range" min="0" max="1000" value="0"></span>
<span class="slid"><label for="volume">Volume</label>
<input id="volume" type="range" min="0" max="100" value="40"></span>
</div>
<p id="files" hidden><label for="chooser">Clips of this folder</label> <input id="chooser" type="file" accept=".wav" multiple></p>
<p class="hint"><label><input type="checkbox" id="keys" checked> Keys:</label> <span data-named><kbd>A</kbd> and <kbd>B</kbd> switch at the same place of the loop,</span> <kbd>Space</kbd> plays and stops.</p>
</section>`;
}

const BLIND_SECTION = `<section aria-labelledby="h-blind">
<h2 id="h-blind">Can you tell A from B?</h2>
<div id="blind-start">
<p>The names are hidden. X is one of the two, drawn by lot each time. Listen as long as you like, then say which it is; how well you did is told at the end.</p>
<p><label for="trials">Trials</label> <input id="trials" type="number" min="5" max="50" value="10"> <button type="button" id="begin">Begin</button></p>
</div>
<div id="blind" hidden>
<p id="blind-count"></p>
<div class="row" role="group" aria-label="Listen">
<button type="button" id="blind-first" aria-pressed="false" aria-keyshortcuts="1">Hear the first</button>
<button type="button" id="blind-x" aria-pressed="false" aria-keyshortcuts="x">Hear X</button>
<button type="button" id="blind-second" aria-pressed="false" aria-keyshortcuts="2">Hear the second</button>
</div>
<div class="row" role="group" aria-label="Answer">
<button type="button" id="answer-first">X is the first</button>
<button type="button" id="answer-second">X is the second</button>
<button type="button" id="give-up">Give up</button>
</div>
<p class="hint">Keys: <kbd>1</kbd>, <kbd>X</kbd> and <kbd>2</kbd> listen.</p>
</div>
<p id="blind-result"></p>
</section>`;

function tableSection({ columns, clips }: ListeningPage): string {
  const rows = clips.map(
    ({ name, file, cells }, index) => `<tr data-clip="${index}">
<th scope="row"><a href="${escaped(encodeURI(file))}">${escaped(name)}</a></th>
<td class="acts"><button type="button" class="hear" aria-pressed="false" aria-label="Hear ${escaped(name)}">Hear</button><button type="button" class="as-a" aria-label="Take ${escaped(name)} as A">A</button><button type="button" class="as-b" aria-label="Take ${escaped(name)} as B">B</button></td>
${cells.map((cell) => `<td>${escaped(cell)}</td>`).join('')}
</tr>`,
  );
  return `<section data-named aria-labelledby="h-clips">
<h2 id="h-clips">Clips</h2>
<div class="wide" tabindex="0" role="group" aria-label="Table of clips">
<table>
<thead><tr><th scope="col">clip</th><th scope="col">listen</th>${columns
    .map((column) => `<th scope="col">${escaped(column)}</th>`)
    .join('')}</tr></thead>
<tbody>
${rows.join('\n')}
</tbody>
</table>
</div>
</section>`;
}

function pairsSection(pairs: ListeningPage['pairs']): string {
  if (pairs === undefined || pairs.length === 0) return '';
  return `<section data-named aria-labelledby="h-pairs">
<h2 id="h-pairs">Differences</h2>
<p>One clip subtracted from another, sample by sample: the level of what is left against that of the two. Two unrelated sounds leave +3 dB, a difference of 0.1 dB in level leaves &minus;39 dB.</p>
<div class="wide" tabindex="0" role="group" aria-label="Table of differences">
<table>
<thead><tr><th scope="col">one</th><th scope="col">other</th><th scope="col">difference</th></tr></thead>
<tbody>
${pairs
  .map(
    ([a, b, difference]) =>
      `<tr><th scope="row">${escaped(a)}</th><td>${escaped(b)}</td><td>${escaped(difference)}</td></tr>`,
  )
  .join('\n')}
</tbody>
</table>
</div>
</section>`;
}

/** No text of a patch may end the script that holds it. */
function jsonIn(clips: readonly PageClip[]): string {
  const kept = clips.map(({ name, file, sampleRate, data }) => ({ name, file, sampleRate, data }));
  return embedded(kept);
}

/** The page's own colours beside those of the charts. */
export const PAGE_COLOURS = {
  light: { paper: PRINT.paper, ink: PRINT.ink, quiet: '#56616b', edge: '#7a858e', mark: '#00568a' },
  dark: { paper: DARK.paper, ink: DARK.ink, quiet: '#a3aeb8', edge: '#77838d', mark: '#7cc0ee' },
};

const STYLE = `:root{color-scheme:light dark;${colourVariables(PRINT)};--quiet:${PAGE_COLOURS.light.quiet};--edge:${PAGE_COLOURS.light.edge};--mark:${PAGE_COLOURS.light.mark}}
@media (prefers-color-scheme:dark){:root{${colourVariables(DARK)};--quiet:${PAGE_COLOURS.dark.quiet};--edge:${PAGE_COLOURS.dark.edge};--mark:${PAGE_COLOURS.dark.mark}}.spectrogram{filter:invert(1)}}
*{box-sizing:border-box}
[hidden]{display:none!important}
body{margin:0 auto;max-width:76rem;padding:1.5rem 1.25rem 4rem;background:var(--paper);color:var(--ink);font:1rem/1.5 system-ui,sans-serif;font-variant-numeric:tabular-nums}
h1{font-size:1.5rem;margin:0 0 .5rem}
h2{font-size:1.05rem;margin:0 0 .75rem}
header p{margin:.25rem 0;max-width:46rem}
.care,.hint{color:var(--quiet);font-size:.9rem}
section{border-top:1px solid var(--edge);padding:1.1rem 0 .9rem;margin:0}
#status{margin:1rem 0;min-height:1.5em;font-weight:600}
a{color:var(--mark)}
button,select,input{font:inherit;color:inherit;background:var(--paper);border:1px solid var(--edge);border-radius:2px;padding:.35rem .7rem}
button{cursor:pointer}
input[aria-invalid=true]{border:2px solid var(--mark)}
button[aria-pressed=true]{background:var(--ink);color:var(--paper);border-color:var(--ink)}
input[type=range]{padding:0;border:0;accent-color:var(--mark);min-width:8rem}
:focus-visible{outline:2px solid var(--mark);outline-offset:2px}
.sides{display:grid;grid-template-columns:repeat(auto-fit,minmax(20rem,1fr));gap:.75rem 1.5rem}
.side{display:flex;gap:.6rem;align-items:center}
.side label{font-weight:600}
.side select{flex:1;min-width:0}
.side button{white-space:nowrap}
.transport{display:flex;flex-wrap:wrap;gap:.6rem;align-items:center;margin-top:.9rem}
.slid{display:flex;gap:.6rem;align-items:center;flex:0 1 16rem}
.wide-slid{flex:1 1 20rem}
.slid input{flex:1;width:4rem}
.slid label{white-space:nowrap}
section>p,section>div>p{max-width:46rem}
#play{min-width:5rem}
.row{display:flex;flex-wrap:wrap;gap:.6rem;margin:.6rem 0}
#blind-count{font-weight:600}
.wide{overflow-x:auto}
.wide svg{display:block;max-width:62rem;width:100%;height:auto;min-width:44rem}
table{border-collapse:collapse;font-size:.92rem;width:100%}
th,td{text-align:right;padding:.3rem .5rem;border-bottom:1px solid var(--grid);white-space:nowrap}
thead th{border-bottom:1px solid var(--ink);vertical-align:bottom}
th:first-child{text-align:left;font-weight:400;padding-left:0}
thead th:first-child{font-weight:600}
.acts button{padding:.1rem .5rem;margin-left:.3rem}
tr.sounds th,tr.sounds td{border-bottom-color:var(--mark);box-shadow:inset 0 -1px var(--mark)}
kbd{font:inherit;border:1px solid var(--edge);border-radius:2px;padding:0 .35rem}
@media print{#status,.transport,.sides,.acts,.hint,.care{display:none}}
`;
