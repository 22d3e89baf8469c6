/**
 * Writes a sheet as one HTML page: its sections in the order in which one patches. What a script may
 * take over stands in elements marked `data-island`, what is only written again in `data-part`; without
 * scripts the page is whole as it is.
 */

import { formatBriefly } from '../../patch/units.ts';
import { IN_PAGE } from '../chart/colours.ts';
import type { PlaceFigure } from '../diagram/layout.ts';
import { documentOf, type Live, type Page, type PageSection } from '../document/document.ts';
import { list, Numbering, unfolded } from '../document/markup.ts';
import { CARE } from '../document/notices.ts';
import { escaped } from '../markup.ts';
import { type ScorePicture, scorePictures } from '../score/score-svg.ts';
import { sheetCharts } from './charts.ts';
import { diagramBody } from './diagrams.ts';
import { findingsBody, summaryBody } from './findings.ts';
import { answersBody, type Body, outlineBody, settingsBody } from './outline.ts';
import { PAPER_ORDER, SHEET_PAPER_STYLE } from './paper.ts';
import { rhythmsBody } from './rhythm-body.ts';
import { MOST_BARS_SHOWN, type Sheet } from './sheet.ts';
import { MOST_SECONDS } from './sound.ts';
import { SHEET_STYLE } from './style.ts';

export interface SheetPageOptions {
  /** Whether the clip is in it. */
  readonly clip: boolean;
  /** What makes it one to play with. */
  readonly live?: Live;
  /** Lays block diagrams out. */
  readonly place?: PlaceFigure;
}

/** Writes the page. */
export async function sheetPage(
  sheet: Sheet,
  { clip, live, place }: SheetPageOptions,
): Promise<string> {
  const numbering = new Numbering();
  const { patch, sound, findings } = sheet;
  const player = clip && sound !== undefined ? clipPlayer(sound.wav, sound.shortened) : '';
  const body = {
    ...outlineBody(sheet),
    diagram: await diagramBody(sheet.figures, numbering, place),
    settings: settingsBody(sheet.settings),
    patterns: rhythmsBody(sheet.rhythms),
    score: scoreBody(sheet, numbering),
    answers: sheet.score === undefined ? '' : answersBody(sheet.score),
    sound: soundBody(sheet, numbering),
    findings: findingsBody(findings, patch),
    summary: summaryBody(findings),
    play: player,
  };
  return documentOf(laidOut(patch.title, body, live));
}

type Name = (typeof PAPER_ORDER)[number];

/** The sections that one works with on a screen, side by side; the rest comes after. Voices are not printed. */
const DESK: readonly { readonly label: string; readonly names: readonly (Name | 'voices')[] }[] = [
  { label: 'Pattern and diagram', names: ['voices', 'patterns', 'diagram'] },
  { label: 'Settings and sound', names: ['settings', 'sound'] },
];

/**
 * Lays a page out. A live page begins with the sections that one works with, and its script puts it into the
 * paper's order to print; in a page without scripts, empty sections are left out.
 */
export function laidOut(title: string, body: Body, live: Live | undefined): Page {
  const shown = (name: string): string => {
    const markup = body[name] ?? '';
    return live === undefined ? unfolded(markup) : markup;
  };
  const part = (name: string): string => `<div data-part="${name}">${shown(name)}</div>`;
  const island = (name: string): string => `<div data-island="${name}">${shown(name)}</div>`;
  const all: {
    readonly [N in Name | 'voices']: Omit<PageSection, 'name'> & {
      readonly holds: readonly string[];
    };
  } = {
    voices: { heading: 'Voices', holds: [], body: island('voices') },
    diagram: { heading: 'Block diagram', holds: ['diagram'], body: island('diagram') },
    cables: {
      heading: 'Cables',
      holds: ['cables'],
      body: live === undefined ? part('cables') : `${island('along')}\n${part('cables')}`,
    },
    settings: { heading: 'Settings', holds: ['settings'], body: island('settings') },
    patterns: { heading: 'Patterns', holds: ['patterns'], body: island('patterns') },
    score: {
      heading: 'Score of time',
      holds: ['score', 'answers'],
      body: [island('score'), part('answers')].join('\n'),
    },
    sound: { heading: 'Envelope and spectrum', holds: ['sound'], body: island('sound') },
    triggers: { heading: 'Volts at the triggers', holds: ['volts'], body: part('volts') },
    findings: { heading: 'Findings and cautions', holds: ['findings'], body: part('findings') },
    care: { heading: 'Care for people and gear', holds: [], body: list(CARE) },
  };
  const section = (name: Name | 'voices'): PageSection => ({ name, ...all[name] });
  const about = `${part('about')}
<dl class="facts" data-part="facts">${body.facts ?? ''}</dl>
${part('summary')}`;
  const page = {
    title: `${title || 'Patch'}: patch sheet`,
    style: SHEET_STYLE + SHEET_PAPER_STYLE,
    skip: { to: 'cables', words: 'To the cable list' },
    sources: { 'media-src': 'data:' },
  };
  const head = `${island('problems')}
<h1 data-part="title">${body.title ?? ''}</h1>`;
  if (live === undefined) {
    const full = PAPER_ORDER.filter((name) => {
      const { holds } = all[name];
      return holds.length === 0 || holds.some((one) => (body[one] ?? '') !== '');
    });
    return { ...page, header: `${head}\n${about}\n${island('play')}`, sections: full.map(section) };
  }
  // On the screen the first words of it stand beside the player.
  const isAside = (name: Name): boolean =>
    name === 'care' || DESK.some(({ names }) => names.includes(name));
  const rest: readonly Name[] = [...PAPER_ORDER.filter((name) => !isAside(name)), 'care'];
  return {
    ...page,
    header: head,
    lead: `<div class="lead">
${island('play')}
${island('versions')}
</div>
<div class="ways">
${island('find')}
<nav aria-label="Sections">${[...DESK.flatMap(({ names }) => names), ...rest]
      .map((name) => `<a href="#${name}">${escaped(all[name].heading)}</a>`)
      .join(' ')}</nav>
</div>`,
    columns: DESK.map(({ label, names }) => ({ label, sections: names.map(section) })),
    about,
    sections: rest.map(section),
    live,
  };
}

function clipPlayer(wav: Uint8Array, shortened: boolean): string {
  const data = Buffer.from(wav.buffer, wav.byteOffset, wav.byteLength).toString('base64');
  const length = shortened ? ` The first ${MOST_SECONDS} s of the song.` : '';
  return `<div class="clip">
<audio controls preload="metadata" aria-label="The clip: what the patch sounds like" src="data:audio/wav;base64,${data}"></audio>
<span class="quiet">Start with the volume low.${length}</span>
</div>`;
}

function scoreBody({ score, songSeconds }: Sheet, numbering: Numbering): string {
  if (score === undefined) return '';
  const figures = [...scorePictures(score)].map((picture) =>
    numbering.figure(scoreImage(picture, score.title), `${picture.name}, to scale.`),
  );
  if (songSeconds === undefined) return figures.join('\n');
  const shown = `The first ${MOST_BARS_SHOWN} bars: ${formatBriefly(score.seconds, 'time')} of the song’s ${formatBriefly(songSeconds, 'time')}.`;
  return [`<p>${shown}</p>`, ...figures].join('\n');
}

/** A picture of its own: the styles of an SVG in the page would be the page's as well. */
function scoreImage({ svg, name, width, height }: ScorePicture, title: string): string {
  const data = Buffer.from(svg).toString('base64');
  const words = escaped(`${title}: ${name.toLowerCase()}, gates, steps and envelopes against time`);
  return `<img class="score" width="${width}" height="${height}" alt="${words}" src="data:image/svg+xml;base64,${data}">`;
}

function soundBody({ sound }: Sheet, numbering: Numbering): string {
  if (sound === undefined) return '';
  return sheetCharts(sound, IN_PAGE)
    .map(({ svg, caption }) => numbering.figure(svg, caption))
    .join('\n');
}
