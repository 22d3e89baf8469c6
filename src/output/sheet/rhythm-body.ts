/** What rhythm sequencers play, as the sheet has it: the song, the channels, every pattern with all it says. */

import { scrolled } from '../document/markup.ts';
import { escaped } from '../markup.ts';
import { patternTable } from './pattern-table.ts';
import { type PatternSheet, type RhythmSheet, roundWords, STEP_SIGNS } from './patterns.ts';

/** Writes it. */
export function rhythmsBody(rhythms: readonly RhythmSheet[]): string {
  return rhythms.map(rhythmBody).join('\n');
}

function rhythmBody({ name, channels, song, patterns }: RhythmSheet): string {
  return `<p><b>${escaped(name)}</b> plays: ${escaped(song.join(', '))}.</p>
<p>Its channels: ${escaped(channels)}.</p>
<div class="patterns">
${patterns.map(patternBody).join('\n')}
</div>
<p class="quiet">${STEP_SIGNS}.</p>`;
}

function patternBody(pattern: PatternSheet): string {
  const { name, own, lines } = pattern;
  return `<div class="pattern">
<h3>Pattern ${escaped(name)}</h3>
${own === '' ? '' : `<p class="own">${escaped(own)}</p>\n`}${scrolled(patternTable(pattern), `Pattern ${name}`)}
${ownLines(lines)}${roundLines(pattern)}</div>`;
}

/** What lines say besides their steps. */
function ownLines(lines: PatternSheet['lines']): string {
  const items = lines.flatMap(({ channel, own }) =>
    own === '' ? [] : [`<li><b>${escaped(channel)}</b>: ${escaped(own)}</li>`],
  );
  return items.length === 0 ? '' : `<ul class="own">${items.join('')}</ul>\n`;
}

/** Which lines go round in it. */
function roundLines(pattern: PatternSheet): string {
  const words = roundWords(pattern);
  return words === '' ? '' : `<p class="round">${escaped(words)}</p>\n`;
}
