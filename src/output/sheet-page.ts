/**
 * Writes a sheet as one HTML file: nothing is loaded and no script runs, which its Content Security
 * Policy holds browsers to, whatever a patch's texts say.
 */

import { createHash } from 'node:crypto';
import { countsOf } from '../findings/check.ts';
import type { Finding } from '../findings/finding.ts';
import { blockDiagram, LOOKS } from './block-diagram.ts';
import { type BlockFigure, blockFigures } from './block-diagram-figures.ts';
import { placed } from './block-diagram-layout.ts';
import { IN_PAGE } from './chart-colours.ts';
import { escaped } from './chart-svg.ts';
import type { Bar, Score } from './score.ts';
import { scoreSvg } from './score-svg.ts';
import { ANSWER_HEADS, wordsOf } from './score-words.ts';
import { type Sheet, TRIGGER_HEADS } from './sheet.ts';
import type { CableGroup } from './sheet-cables.ts';
import { CARE } from './sheet-care.ts';
import { sheetCharts } from './sheet-charts.ts';
import { type RhythmSheet, STEP_SIGNS } from './sheet-patterns.ts';
import type { ModuleSettings, SheetSetting } from './sheet-settings.ts';
import { MOST_SECONDS } from './sheet-sound.ts';
import { SHEET_STYLE } from './sheet-style.ts';

const POLICY = [
  "default-src 'none'",
  `style-src 'sha256-${createHash('sha256').update(SHEET_STYLE).digest('base64')}'`,
  'img-src data:',
  'media-src data:',
  "base-uri 'none'",
  "form-action 'none'",
].join('; ');

/** Writes the page. @param withClip whether the clip is in it. */
export async function sheetPage(sheet: Sheet, withClip: boolean): Promise<string> {
  const numbering = new Numbering();
  const { title } = sheet.patch;
  const sections: (readonly [id: string, heading: string, body: string])[] = [
    ['diagram', 'Block diagram', await diagramBody(sheet, numbering)],
    ['cables', 'Cables', cablesBody(sheet.cables)],
    ['settings', 'Settings', settingsBody(sheet.settings)],
    ['score', 'Score of time', scoreBody(sheet, numbering)],
    ['sound', 'Envelope and spectrum', soundBody(sheet, numbering)],
    ['triggers', 'Volts at the triggers', triggersBody(sheet)],
    ['findings', 'Findings and cautions', findingsBody(sheet)],
    ['care', 'Care for people and gear', list(CARE)],
  ];
  const shown = sections.filter(([, , body]) => body !== '');
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>${escaped(title)}: patch sheet</title>
<style>${SHEET_STYLE}</style>
</head>
<body>
<a class="skip" href="#cables">To the cable list</a>
${header(sheet, withClip)}
<main>
${shown
  .map(
    ([id, heading, body], index) => `<section aria-labelledby="${id}">
<h2 id="${id}"><span class="no">${index + 1}</span> ${heading}</h2>
${body}
</section>`,
  )
  .join('\n')}
</main>
</body>
</html>
`;
}

/** Counts the figures. */
class Numbering {
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
function scrolled(content: string, name: string): string {
  return `<div class="wide" tabindex="0" role="group" aria-label="${escaped(name)}">${content}</div>`;
}

function header({ patch, facts, sound, findings }: Sheet, withClip: boolean): string {
  const fact = (what: string, value: string, style = ''): string =>
    `<div${style}><dt>${escaped(what)}</dt><dd>${escaped(value)}</dd></div>`;
  return `<header>
<h1>${escaped(patch.title === '' ? 'Patch' : patch.title)}</h1>
${paragraphs(patch.about)}
<dl class="facts">
${facts.map(([what, value]) => fact(what, value)).join('\n')}
${['Patched by', 'Date'].map((what) => fact(what, '', ' class="line paper"')).join('\n')}
</dl>
${summary(findings)}
${withClip && sound !== undefined ? clip(sound.wav, sound.shortened) : ''}
</header>`;
}

function summary(findings: readonly Finding[]): string {
  const { fault, caution, note } = countsOf(findings);
  if (findings.length === 0) return '<p>The check finds nothing wrong with this patch.</p>';
  const counts = [counted(fault, 'fault'), counted(caution, 'caution'), counted(note, 'note')];
  const words = counts.filter((words) => words !== '').join(', ');
  const style = fault > 0 ? ' class="faults"' : '';
  return `<p${style}>The check finds ${words}: <a href="#findings">findings and cautions</a>.</p>`;
}

function counted(count: number, word: string): string {
  return count === 0 ? '' : `${count} ${word}${count === 1 ? '' : 's'}`;
}

function clip(wav: Uint8Array, shortened: boolean): string {
  const data = Buffer.from(wav.buffer, wav.byteOffset, wav.byteLength).toString('base64');
  const length = shortened ? ` The first ${MOST_SECONDS} s of the song.` : '';
  return `<div class="clip">
<audio controls preload="metadata" aria-label="The clip: what the patch sounds like" src="data:audio/wav;base64,${data}"></audio>
<span class="quiet">Start with the volume low.${length}</span>
</div>`;
}

function paragraphs(words: string): string {
  return words
    .split(/\n\s*\n/)
    .filter((paragraph) => paragraph.trim() !== '')
    .map((paragraph) => `<p>${escaped(paragraph.trim())}</p>`)
    .join('\n');
}

async function diagramBody({ patch }: Sheet, numbering: Numbering): Promise<string> {
  const drawn: string[] = [];
  for (const figure of blockFigures(patch)) {
    const caption = captionOf(figure);
    drawn.push(numbering.figure(blockDiagram(await placed(figure), caption, IN_PAGE), caption));
  }
  return drawn.join('\n');
}

function captionOf({ part, blocks, wires }: BlockFigure): string {
  const modules = blocks.filter(({ type }) => type === 'module').length;
  const parts = blocks.filter(({ type }) => type === 'part').length;
  const what = [counted(modules, 'module'), counted(parts, 'part')].filter((one) => one !== '');
  const whole = part === '' ? 'The whole patch' : `The part ${part}`;
  const ends = blocks.some(({ type }) => type === 'end')
    ? ' Rounded ends are jacks outside it.'
    : '';
  return `${whole}: ${what.join(' and ')}, ${counted(wires.length, 'cable')}.${ends}`;
}

function cablesBody(groups: readonly CableGroup[]): string {
  return groups
    .map(({ title, cables }) => {
      const rows = cables.map(({ number, from, to, sort }) => {
        const ends = [from, to].map(
          ({ module, jack }) => `<td><b>${escaped(module)}</b>.${escaped(jack)}</td>`,
        );
        const name = `${from.module}.${from.jack} to ${to.module}.${to.jack}`;
        return `<tr><td class="box"><input type="checkbox" aria-label="Cable ${number}, ${escaped(name)}: plugged"></td><th scope="row">${number}</th>${ends.join('')}<td>${sample(sort)}${LOOKS[sort].words}</td></tr>`;
      });
      return `<h3>${title}</h3>
${scrolled(
  `<table class="cables">
<thead><tr><th scope="col" class="box">done</th><th scope="col" class="no-column">no.</th><th scope="col">from the output</th><th scope="col">to the input</th><th scope="col">carries</th></tr></thead>
<tbody>
${rows.join('\n')}
</tbody>
</table>`,
  `Cables: ${title}`,
)}`;
    })
    .join('\n');
}

function sample(sort: keyof typeof LOOKS): string {
  const { width, dash, series } = LOOKS[sort];
  const dashes = dash === undefined ? '' : ` stroke-dasharray="${dash}"`;
  return `<svg class="legend" viewBox="0 0 42 12" aria-hidden="true"><path d="M0 6H42" stroke="${IN_PAGE.series[series]}" stroke-width="${width}"${dashes}/></svg>`;
}

function settingsBody(modules: readonly ModuleSettings[]): string {
  if (modules.length === 0) return '';
  const rows = modules.map(({ name, kind, unit, settings }) => {
    const what = unit === undefined ? kind : `${kind}, unit ${unit}`;
    return `<tr><td class="box"><input type="checkbox" aria-label="${escaped(name)}: set"></td><th scope="row">${escaped(name)}<span class="under">${escaped(what)}</span></th><td><ul class="settings">${settings.map(settingItem).join('')}</ul></td></tr>`;
  });
  const hasDials = modules.some(({ settings }) => settings.some(({ dial }) => dial !== undefined));
  const dials = hasDials ? ' A framed number is the position of the dial.' : '';
  return `<p class="quiet">Bold is what this patch asks for; the rest is as it usually is.${dials}</p>
<table class="turned">
<thead><tr><th scope="col" class="box">done</th><th scope="col">module</th><th scope="col">settings</th></tr></thead>
<tbody>
${rows.join('\n')}
</tbody>
</table>`;
}

function settingItem({ name, value, dial, isGiven }: SheetSetting): string {
  const shown = isGiven
    ? `<b>${escaped(value)}</b>`
    : `<span class="usual">${escaped(value)}</span>`;
  const position = dial === undefined ? '' : ` <span class="dial">${escaped(dial)}</span>`;
  return `<li>${escaped(name)} ${shown}${position}</li>`;
}

/** Bars that one picture of the score has. */
const BARS_IN_PICTURE = 2;

function scoreBody({ score, rhythms }: Sheet, numbering: Numbering): string {
  if (score === undefined) return '';
  const figures: string[] = [];
  for (let from = 0; from < score.bars.length; from += BARS_IN_PICTURE) {
    const bars = score.bars.slice(from, from + BARS_IN_PICTURE);
    figures.push(numbering.figure(scorePicture(score, bars), `${barsName(bars)}, to scale.`));
  }
  const { answers, followers, meetings } = wordsOf(score);
  return [
    ...rhythms.map(rhythmBody),
    ...figures,
    answers.length === 0
      ? ''
      : scrolled(
          tableOf(ANSWER_HEADS, answers, 'When each trigger input answers.', 'volts'),
          'When each trigger input answers',
        ),
    list([...followers, ...meetings]),
  ].join('\n');
}

function barsName(bars: readonly Bar[]): string {
  const [first, last] = [bars[0]?.number, bars.at(-1)?.number];
  return first === last ? `Bar ${first}` : `Bars ${first} and ${last}`;
}

/** A picture of its own: the styles of an SVG in the page would be the page's as well. */
function scorePicture(score: Score, bars: readonly Bar[]): string {
  const title = `${score.title}: ${barsName(bars).toLowerCase()}`;
  const part = { title, bars, seconds: bars.at(-1)?.end ?? 0 };
  const svg = scoreSvg({ ...score, ...part, answers: [], followers: [], meetings: [] })
    // How long it all is would be told of each picture.
    .replace(/>Score of time: [^<]*</, '><');
  const [, width, height] = /width="([\d.]+)" height="([\d.]+)"/.exec(svg) ?? [];
  const data = Buffer.from(svg).toString('base64');
  return `<img class="score" width="${width}" height="${height}" alt="${escaped(title)}, gates, steps and envelopes against time" src="data:image/svg+xml;base64,${data}">`;
}

function rhythmBody({ name, song, patterns }: RhythmSheet): string {
  const all = patterns.map(({ name: pattern, lines }) => {
    const longest = Math.max(0, ...lines.map(({ channel }) => channel.length));
    const rows = lines.map(({ channel, steps }) => `${channel.padEnd(longest)}  ${steps}`);
    return `<h3>Pattern ${escaped(pattern)}</h3>
${scrolled(`<pre>${escaped(rows.join('\n'))}</pre>`, `Pattern ${pattern}`)}`;
  });
  return `<p><b>${escaped(name)}</b> plays: ${escaped(song)}.</p>
${all.join('\n')}
<p class="quiet">${STEP_SIGNS}.</p>`;
}

function soundBody({ sound }: Sheet, numbering: Numbering): string {
  if (sound === undefined) return '';
  return sheetCharts(sound, IN_PAGE)
    .map(({ svg, caption }) => numbering.figure(svg, caption))
    .join('\n');
}

function triggersBody({ triggers }: Sheet): string {
  if (triggers.length === 0) return '';
  const caption =
    'What to find with a meter, and by how much it passes the threshold once everything is plugged.';
  return scrolled(tableOf(TRIGGER_HEADS, triggers, caption, 'volts'), 'Volts at the triggers');
}

function findingsBody({ findings, patch }: Sheet): string {
  if (findings.length === 0) return '<p>None: the check finds nothing wrong with this patch.</p>';
  const rows = findings.map(({ severity, rule, message, fix, place }) => {
    const where =
      place.file === patch.file ? `line ${place.line}` : `${place.file}, line ${place.line}`;
    return `<tr class="${severity}"><th scope="row"><span class="severity">${severity}</span><span class="under">${escaped(rule)}</span><span class="under">${escaped(where)}</span></th><td>${escaped(message)}</td><td>${escaped(fix)}</td></tr>`;
  });
  return `<table class="told">
<thead><tr><th scope="col">finding</th><th scope="col">what happens</th><th scope="col">what to do</th></tr></thead>
<tbody>
${rows.join('\n')}
</tbody>
</table>`;
}

/** The first cell of a row names it. */
function tableOf(
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

function list(sentences: readonly string[]): string {
  if (sentences.length === 0) return '';
  return `<ul>${sentences.map((sentence) => `<li>${escaped(sentence)}</li>`).join('')}</ul>`;
}
