/**
 * The page to compare on: one HTML file beside the clips, which needs no network. Two clips can be
 * switched at the same place of the loop, and told apart blind.
 */

import { largest } from '../../modules/dsp/extremes.ts';
import { documentOf, type PageSection } from '../../output/document/document.ts';
import { Numbering, scrolled } from '../../output/document/markup.ts';
import { LISTENING_CARE } from '../../output/document/notices.ts';
import { escaped, linkTo, withMinus } from '../../output/markup.ts';
import { COMPARISON_STYLE } from '../comparison/style.ts';
import type { PageClip } from '../pieces/clip.ts';
import { PIECES_STYLE } from '../pieces/style.ts';
import type { Program } from './bundles.ts';
import { besideSources, WITHOUT_SCRIPTS } from './clips-beside.ts';

export interface ComparedClip extends PageClip {
  /** Its cells in the table, in the order of `columns`. */
  readonly cells: readonly string[];
}

export interface ComparisonPage {
  readonly title: string;
  readonly about: string;
  /** How the clips were made alike. */
  readonly level: string;
  readonly columns: readonly string[];
  /** The note under the table of clips. */
  readonly note?: string;
  readonly clips: readonly ComparedClip[];
  /** SVG, in the colours of `IN_PAGE`. */
  readonly charts: readonly { readonly svg: string; readonly caption: string }[];
  /** SVG: where each of the others differs from the first clip, in bands and time. */
  readonly maps?: readonly string[];
  /** How far each clip is from each other one, where that was asked for. */
  readonly pairs?: readonly (readonly [a: string, b: string, difference: string])[];
}

/** Writes the page. @param page has at least one clip. */
export function comparisonPage(page: ComparisonPage, { script, notices }: Program): string {
  const { title, about, level, clips, charts } = page;
  // At rates of their own, one clip would take over from another with a gap, which tells them apart.
  const sampleRate = largest(
    clips.map((clip) => clip.sampleRate),
    0,
  );
  const numbering = new Numbering();
  return documentOf({
    title: `${title || 'Patch'}: comparison`,
    style: '',
    skip: { to: 'table', words: 'To the table of clips' },
    header: `<h1>${escaped(title || 'Patch')}</h1>
${about.trim() === '' ? '' : `<p>${escaped(about.trim())}</p>\n`}<p>${escaped(withMinus(level))}</p>
<p class="quiet">${LISTENING_CARE}</p>
${WITHOUT_SCRIPTS}`,
    sections: [
      ...listening(clips.length > 1),
      { name: 'table', heading: 'Clips', body: named(clipTable(page)) },
      {
        name: 'pictures',
        heading: 'Pictures',
        body: named(
          charts.map(({ svg, caption }) => numbering.figure(svg, caption)).join('\n'),
          'pictures',
        ),
      },
      ...mapsSection(page.maps, numbering),
      ...pairsSection(page.pairs),
    ],
    live: {
      style: PIECES_STYLE + COMPARISON_STYLE,
      script,
      notices,
      data: {
        clips: clips.map(({ name, file, data }) => ({ name, file, sampleRate, data })),
      },
      sources: besideSources(clips),
    },
  });
}

/** With a single clip there is no other side, and no blind test. */
function listening(hasTwo: boolean): readonly PageSection[] {
  const body = '<div data-island="listen"></div>';
  if (!hasTwo) return [{ name: 'sides', heading: 'Listen', body }];
  const blind = '<div data-island="blind"></div>';
  return [
    { name: 'sides', heading: 'A and B', body },
    { name: 'blind-test', heading: 'Can you tell A from B?', body: blind },
  ];
}

/** Content that names clips must not be seen in a blind test. */
function named(content: string, style = ''): string {
  return `<div class="named ${style}">${content}</div>`;
}

function clipTable({ columns, clips, note }: ComparisonPage): string {
  const rows = clips.map(
    ({ name, file, cells }, index) =>
      `<tr data-clip="${index}"><th scope="row"><a href="${linkTo(file)}">${escaped(name)}</a></th><td class="acts"></td>${cells.map((cell) => `<td>${escaped(withMinus(cell))}</td>`).join('')}</tr>`,
  );
  const heads = columns.map((column) => `<th scope="col">${escaped(column)}</th>`);
  const said = note === undefined ? '' : `\n<p class="quiet">${escaped(note)}</p>`;
  const clipsTable = scrolled(
    `<table class="numbers">
<thead><tr><th scope="col">clip</th><th scope="col" class="acts">listen</th>${heads.join('')}</tr></thead>
<tbody>
${rows.join('\n')}
</tbody>
</table>`,
    'Table of clips',
  );
  return clipsTable + said;
}

function mapsSection(
  maps: ComparisonPage['maps'] = [],
  numbering: Numbering,
): readonly PageSection[] {
  if (maps.length === 0) return [];
  const caption =
    'What one of the clips has too little or too much of, band by band and time by time.';
  const body = maps.map((map) => numbering.figure(map, caption)).join('\n');
  return [{ name: 'differences', heading: 'Where they differ', body: named(body, 'pictures') }];
}

function pairsSection(pairs: ComparisonPage['pairs'] = []): readonly PageSection[] {
  if (pairs.length === 0) return [];
  const words =
    'One clip subtracted from another, sample by sample: the level of what is left against that of the two. Two unrelated sounds leave +3 dB, a difference of 0.1 dB in level leaves −39 dB.';
  const rows = pairs.map(
    ([a, b, difference]) =>
      `<tr><th scope="row">${escaped(a)}</th><td class="name">${escaped(b)}</td><td>${escaped(withMinus(difference))}</td></tr>`,
  );
  const table = `<table class="numbers">
<thead><tr><th scope="col">one</th><th scope="col" class="name">other</th><th scope="col">difference</th></tr></thead>
<tbody>
${rows.join('\n')}
</tbody>
</table>`;
  return [
    {
      name: 'differences',
      heading: 'Differences',
      body: named(`<p>${words}</p>\n${scrolled(table, 'Table of differences')}`),
    },
  ];
}
