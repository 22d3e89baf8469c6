/** Writes a sheet as Markdown: plain text with tables and boxes to tick, without pictures or sound. */

import { largest } from '../../modules/dsp/extremes.ts';
import { jackName } from '../../patch/patch.ts';
import { printableLines } from '../../text/printable.ts';
import { LOOKS } from '../diagram/looks.ts';
import { CARE } from '../document/notices.ts';
import { escapedMarkdown, markdownCode, markdownTable } from '../markdown.ts';
import { LEGEND, scoreText } from '../score/score-text.ts';
import { ANSWER_HEADS, scoreWords } from '../score/score-words.ts';
import type { TimeScore } from '../score/time-score.ts';
import { SHARED } from '../voices.ts';
import type { CableGroup } from './cables.ts';
import { type RhythmSheet, roundWords, STEP_SIGNS } from './patterns.ts';
import type { ModuleSettings } from './settings.ts';
import { type Sheet, TRIGGER_HEADS } from './sheet.ts';

/** Columns of a score in text. */
const SCORE_COLUMNS = 110;

/** Writes the sheet. */
export function sheetMarkdown(sheet: Sheet): string {
  const { patch, facts, triggers } = sheet;
  const sections: (readonly [heading: string, body: string])[] = [
    ['Care for people and gear', list(CARE)],
    ['Cables', sheet.cables.map(groupText).join('\n\n')],
    ['Settings', sheet.settings.map(moduleText).join('\n')],
    ['Score of time', scoreBody(sheet)],
    ['Volts at the triggers', triggers.length === 0 ? '' : wordTable(TRIGGER_HEADS, triggers)],
    ['Findings and cautions', findingsText(sheet)],
  ];
  const parts = [
    `# ${escapedMarkdown(patch.title === '' ? 'Patch' : patch.title)}`,
    escapedMarkdown(patch.about),
    facts.map(([what, value]) => `${what}: ${escapedMarkdown(value)}`).join(' · '),
    ...sections
      .filter(([, body]) => body !== '')
      .map(([heading, body], index) => `## ${index + 1}. ${heading}\n\n${body}`),
  ];
  return printableLines(`${parts.filter((part) => part !== '').join('\n\n')}\n`);
}

function groupText({ title, voices }: CableGroup): string {
  const blocks = voices.map(({ voice = SHARED, items }) => {
    const lines = items.map(
      ({ number, from, to, sort }) =>
        `- [ ] ${number}. ${markdownCode(jackName(from))} to ${markdownCode(jackName(to))} (${LOOKS[sort].words})`,
    );
    const heading = voices.length > 1 ? `#### ${title}: ${escapedMarkdown(voice)}\n\n` : '';
    return `${heading}${lines.join('\n')}`;
  });
  return [`### ${title}`, ...blocks].join('\n\n');
}

function moduleText({ name, kind, unit, settings }: ModuleSettings): string {
  const what = unit === undefined ? kind : `${kind}, unit ${unit}`;
  const values = settings.map(({ name: setting, value, dial, given }) => {
    const shown = given === 'value' ? `**${escapedMarkdown(value)}**` : escapedMarkdown(value);
    const position = given === 'dial' ? `**${dial}**` : dial;
    return `${setting} ${shown}${position === undefined ? '' : ` (${position})`}`;
  });
  return `- [ ] ${markdownCode(name)} (${escapedMarkdown(what)})${values.length === 0 ? '' : `: ${values.join(', ')}`}`;
}

function scoreBody({ score, rhythms }: Sheet): string {
  const parts = [...rhythms.map(rhythmText), ...(score === undefined ? [] : playedText(score))];
  return parts.filter((part) => part !== '').join('\n\n');
}

function playedText(score: TimeScore): readonly string[] {
  const { answers, followers, meetings } = scoreWords(score);
  return [
    fenced(`${scoreText(score, SCORE_COLUMNS)}\n\n${LEGEND}`),
    answers.length === 0 ? '' : wordTable(ANSWER_HEADS, answers),
    list([...followers, ...meetings]),
  ];
}

function rhythmText({ name, channels, song, patterns }: RhythmSheet): string {
  const blocks = patterns.map((one) => {
    const { name: pattern, own, lines } = one;
    const round = roundWords(one);
    const longest = largest(
      lines.map(({ channel }) => channel.length),
      0,
    );
    const rows = lines.map(({ channel, steps }) => `${channel.padEnd(longest)}  ${steps}`);
    const besides = lines.flatMap((line) =>
      line.own === '' ? [] : [`- ${markdownCode(line.channel)}: ${escapedMarkdown(line.own)}`],
    );
    return [
      `${markdownCode(pattern)}${own === '' ? '' : ` (${escapedMarkdown(own)})`}:`,
      fenced(rows.join('\n')),
      ...(besides.length === 0 ? [] : [besides.join('\n')]),
      ...(round === '' ? [] : [escapedMarkdown(round)]),
    ].join('\n\n');
  });
  const plays = `${markdownCode(name)} plays: ${escapedMarkdown(song.join(', '))}.`;
  return [plays, `Its channels: ${escapedMarkdown(channels)}.`, ...blocks, `${STEP_SIGNS}.`].join(
    '\n\n',
  );
}

function findingsText({ findings, patch }: Sheet): string {
  if (findings.length === 0) return 'None: the check finds nothing wrong with this patch.';
  const items = findings.map(({ severity, rule, message, fix, place }) => {
    const file = place.file === patch.file ? '' : `${place.file}, `;
    const where = `${escapedMarkdown(file)}line ${place.line}`;
    return `- **${severity}** ${rule} (${where}): ${escapedMarkdown(message)} ${escapedMarkdown(fix)}`;
  });
  return items.join('\n');
}

function wordTable(heads: readonly string[], rows: readonly (readonly string[])[]): string {
  return markdownTable(
    heads.map(escapedMarkdown),
    rows.map((cells) => cells.map(escapedMarkdown)),
  );
}

function list(sentences: readonly string[]): string {
  return sentences.map((sentence) => `- ${escapedMarkdown(sentence)}`).join('\n');
}

/** Longer than any fence inside. */
function fenced(words: string): string {
  const longest = largest(
    [...words.matchAll(/`+/g)].map(([run]) => run.length),
    2,
  );
  const fence = '`'.repeat(longest + 1);
  return `${fence}\n${words}\n${fence}`;
}
