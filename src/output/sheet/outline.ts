/**
 * The parts of a sheet that follow from its patch without playing it, as markup. The page has them again
 * with every change, so nothing here needs Node.
 */

import { counted } from '../../patch/text/counted.ts';
import { IN_PAGE } from '../chart/colours.ts';
import { LOOKS } from '../diagram/looks.ts';
import { folded, list, scrolled, tableOf } from '../document/markup.ts';
import { escaped } from '../markup.ts';
import { ANSWER_HEADS, scoreWords } from '../score/score-words.ts';
import type { TimeScore } from '../score/time-score.ts';
import { SHARED } from '../voices.ts';
import type { CableGroup, ListedCable } from './cables.ts';
import type { ModuleSettings, SheetSetting } from './settings.ts';
import { type Fact, type Outline, TRIGGER_HEADS } from './sheet.ts';

/** What stands in the elements of a page, as markup, by their names. */
export type Body = Readonly<Record<string, string>>;

/** Writes them. */
export function outlineBody({ patch, facts, cables, triggers }: Outline): Body {
  return {
    title: escaped(patch.title || 'Patch'),
    about: paragraphs(patch.about),
    facts: factsBody(facts),
    cables: cablesBody(cables),
    volts: triggersBody(triggers),
  };
}

function factsBody(facts: readonly Fact[]): string {
  const fact = (what: string, value: string, style = ''): string =>
    `<div${style}><dt>${escaped(what)}</dt><dd>${escaped(value).replaceAll('/', '/<wbr>')}</dd></div>`;
  return [
    ...facts.map(([what, value]) => fact(what, value)),
    ...['Patched by', 'Date'].map((what) => fact(what, '', ' class="paper"')),
  ].join('\n');
}

function paragraphs(words: string): string {
  return words
    .split(/\n\s*\n/)
    .filter((paragraph) => paragraph.trim() !== '')
    .map((paragraph) => `<p>${escaped(paragraph.trim())}</p>`)
    .join('\n');
}

function cablesBody(groups: readonly CableGroup[]): string {
  return groups
    .map(({ title, voices }) => {
      const [first, ...others] = voices;
      const body =
        first === undefined || others.length === 0
          ? cableTable(title, first?.items ?? [])
          : voices
              .map(({ voice = SHARED, items }) =>
                folded({
                  name: `${title}, ${voice}`,
                  summary: `<b>${escaped(voice)}</b> <span class="quiet">${counted(items.length, 'cable')}</span>`,
                  content: cableTable(`${title}, ${voice}`, items),
                }),
              )
              .join('\n');
      return `<div class="cable-group">
<h3>${title}</h3>
${body}
</div>`;
    })
    .join('\n');
}

function cableTable(name: string, cables: readonly ListedCable[]): string {
  const rows = cables.map(({ number, from, to, sort }) => {
    const ends = [from, to].map(
      ({ module, jack }) => `<td><b>${escaped(module)}</b>.${escaped(jack)}</td>`,
    );
    const name = `${from.module}.${from.jack} to ${to.module}.${to.jack}`;
    return `<tr><td class="box"><input type="checkbox" aria-label="Cable ${number}, ${escaped(name)}: plugged" data-cable="${escaped(`${from.module}.${from.jack} ${to.module}.${to.jack}`)}"></td><th scope="row">${number}</th>${ends.join('')}<td>${sample(sort)}${LOOKS[sort].words}</td></tr>`;
  });
  return scrolled(
    `<table class="cables">
<thead><tr><th scope="col" class="box">done</th><th scope="col" class="no-column">no.</th><th scope="col">from the output</th><th scope="col">to the input</th><th scope="col">carries</th></tr></thead>
<tbody>
${rows.join('\n')}
</tbody>
</table>`,
    `Cables: ${name}`,
  );
}

function sample(sort: keyof typeof LOOKS): string {
  const { width, dash, series } = LOOKS[sort];
  const dashes = dash === undefined ? '' : ` stroke-dasharray="${dash}"`;
  return `<svg class="legend" viewBox="0 0 42 12" aria-hidden="true"><path d="M0 6H42" stroke="${IN_PAGE.series[series]}" stroke-width="${width}"${dashes}/></svg>`;
}

function triggersBody(triggers: Outline['triggers']): string {
  if (triggers.length === 0) return '';
  const caption =
    'What to find with a meter, and by how much it passes the threshold once everything is plugged.';
  const table = tableOf(TRIGGER_HEADS, triggers, caption, 'volts');
  return longTable('Volts at the triggers', triggers.length, table);
}

/** Rows of a table of trigger inputs that are worth folding away. */
const MANY = 12;

function longTable(name: string, rows: number, table: string): string {
  const content = scrolled(table, name);
  if (rows < MANY) return content;
  const summary = `${name} <span class="quiet">${counted(rows, 'input')}</span>`;
  return folded({ name, summary, content });
}

/** When each trigger input answers, and where followers stand. */
export function answersBody(score: TimeScore): string {
  const { answers, followers, meetings } = scoreWords(score);
  const caption = 'When each trigger input answers';
  const table =
    answers.length === 0
      ? ''
      : longTable(caption, answers.length, tableOf(ANSWER_HEADS, answers, `${caption}.`, 'volts'));
  return table + list([...followers, ...meetings]);
}

/** Every setting of every module that has any, to tick off. */
export function settingsBody(modules: readonly ModuleSettings[]): string {
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

function settingItem({ name, value, dial, given }: SheetSetting): string {
  const shown =
    given === 'value' ? `<b>${escaped(value)}</b>` : `<span class="usual">${escaped(value)}</span>`;
  const tag = given === 'dial' ? 'b' : 'span';
  const position = dial === undefined ? '' : ` <${tag} class="dial">${escaped(dial)}</${tag}>`;
  return `<li>${escaped(name)} ${shown}${position}</li>`;
}
