/** The form to take to the cabinet: what to hold a probe to and what is worth knowing, with room to write. */

import { inTime } from '../../findings/spoken.ts';
import { type Blank, howTo, takenFor, worthOf, worthText } from '../../findings/survey-blanks.ts';
import { holdsText, type SurveyPoint } from '../../findings/survey-point.ts';
import { inPercent, inVolts, listed } from '../../findings/words.ts';
import { counted } from '../../patch/text/counted.ts';
import { documentOf } from '../document/document.ts';
import { list } from '../document/markup.ts';
import { CARE } from '../document/notices.ts';
import { escaped } from '../markup.ts';

/** Half of a table's own border lies outside it, and paper cuts that off: so the table is a hair narrower. */
const STYLE = `table.form{width:calc(100% - 2px);border-collapse:collapse}
.form th,.form td{padding:.35rem .5rem;border:1px solid var(--grid);text-align:left;vertical-align:top;white-space:normal}
.form tbody th,.form td:nth-child(2),.form small{overflow-wrap:anywhere}
.form .room{min-width:5.5rem;background:none}
.form.probe th:nth-child(1){width:17%}
.form.probe th:nth-child(2){width:15%}
.form.probe th:nth-child(4),.form.probe th:nth-child(6){width:13%}
.form .whole{white-space:nowrap}
.form.facts th:nth-child(1){width:22%}
.form.facts th:nth-child(2){width:26%}
.form.facts th:nth-child(4){width:21%}
.form tr{break-inside:avoid}
/* However few its rows: a heading would stand alone on the page before. */
section .form.form{break-inside:auto}
.form thead{display:table-header-group}
.form small{display:block}
.lines{display:flex;flex-wrap:wrap;gap:1.2rem 2rem;margin:1rem 0}
.lines span{flex:1 1 12rem;border-bottom:1px solid currentColor;padding-top:1.2rem}
@page{margin:13mm 12mm}
@media print{body{font-size:9pt}.form th,.form td{padding:1.2mm 1.5mm;border-color:#666}.form .room{height:9mm}section{break-inside:auto}h2{break-after:avoid}}`;

/** Writes the page. @param title of the patch. @param untimed the inputs whose pulses are not timed. */
export function surveyPage(
  title: string,
  points: readonly SurveyPoint[],
  blanks: readonly Blank[],
  untimed: readonly string[],
): string {
  return documentOf({
    title: `Survey: ${title}`,
    style: STYLE,
    skip: { to: 'probe', words: 'To the trigger inputs' },
    header: `<h1>Survey: ${escaped(title)}</h1>
<p>${counted(points.length, 'thing')} to look at on trigger inputs and ${counted(blanks.length, 'fact')} worth measuring, the least certain first. Gates are short, so take an oscilloscope; a meter does where a switch or a knob holds them.</p>
<div class="lines"><span>Cabinet</span><span>Measured by</span><span>Date</span><span>Meter or scope</span></div>`,
    sections: [
      { name: 'care', heading: 'Care for people and gear', body: list(CARE) },
      { name: 'probe', heading: 'Hold the probe to', body: probeBody(points, untimed) },
      { name: 'worth', heading: 'Worth knowing', body: worthBody(blanks) },
    ],
  });
}

function probeBody(points: readonly SurveyPoint[], untimed: readonly string[]): string {
  if (points.length === 0)
    return '<p>Nothing drives a trigger input, so there is none to measure.</p>';
  const rows = points.map((point) => [
    `<th scope="row">${escaped(point.jack)}</th>`,
    cell(point.drivers.join(' + ')),
    ...measuredCells(point),
    cell(holdsText(point.holds)),
  ]);
  const head = [
    'At',
    'Plug in',
    'Idle',
    'Idle, found',
    'On, or time',
    'Found',
    'Fires',
    'Holds until',
  ];
  const note =
    untimed.length === 0
      ? ''
      : `\n<p>Not timed, since no pulse came to them in what was played: ${escaped(listed(untimed))}.</p>`;
  return `<p>Plug in what drives it, hold the probe to the jack, and write down what is found at rest and while it is on. A time is listed where it fails before the volts do. “20 % off” means: with every resistance, level, threshold and time up to 20 % off, all the wrong way, it still fires and lets go, pulses are long enough and edges quick enough.</p>
${form('form probe', head, rows)}${note}`;
}

/** What to expect, room for what is found, and what the input asks for. */
function measuredCells(point: SurveyPoint): readonly string[] {
  const { on, off } = point;
  if (point.measure === 'volts')
    return [
      cell(inVolts(point.idle)),
      room(),
      cell(inVolts(point.driven)),
      room(),
      cell(`${point.type === 'voltage' ? 'over' : 'under'} ${inVolts(on)}`),
    ];
  const isWidth = point.measure === 'width';
  const what = isWidth
    ? `shortest pulse, from ${inVolts(on)} to ${inVolts(off)} on the way back`
    : `from where the edge begins to ${inVolts(on)}`;
  return [
    `<td colspan="2">${unbroken(what)}</td>`,
    cell(inTime(point.time)),
    room(),
    cell(`${isWidth ? 'from' : 'late from'} ${inTime(point.limit)}`),
  ];
}

function worthBody(blanks: readonly Blank[]): string {
  if (blanks.length === 0)
    return '<p>No single fact makes a check surer: all that matters is known.</p>';
  const rows = blanks.map((blank) => [
    `<th scope="row">${escaped(`${blank.unit}.${blank.jack}: ${blank.fact}`)}</th>`,
    cell(howTo(blank)),
    cell(takenFor(blank)),
    room(),
    `<td>${blank.then === undefined ? 'over ' : ''}${inPercent(worthOf(blank))}<small>${unbroken(worthText(blank))}</small></td>`,
  ]);
  const head = ['Fact', 'How', 'Taken for it', 'Found, +- how much', 'Worth'];
  return `<p>What a fact is worth: so much further may all else be off. “forehear survey PATCH --blanks FILE” gives the same as a rack file to fill in, “--answers FILE --into RACK” takes it over.</p>
${form('form facts', head, rows)}`;
}

function form(name: string, head: readonly string[], rows: readonly (readonly string[])[]): string {
  const heads = head.map((one) => `<th scope="col">${escaped(one)}</th>`).join('');
  return `<table class="${name}"><thead><tr>${heads}</tr></thead>
<tbody>${rows.map((cells) => `<tr>${cells.join('')}</tr>`).join('\n')}</tbody></table>`;
}

function cell(words: string): string {
  return `<td>${unbroken(words)}</td>`;
}

/** Markup in which no number is parted from its unit, its sign or what it may be off, nor the last of a formula from it. */
function unbroken(words: string): string {
  return escaped(words)
    .replace(/(?<=\d) (?=%|[mk]?V|[kM]?ohm|[mu]?s\b)|(?<= -) (?=\d)/g, '\u00a0')
    .replace(/\+- [^ ]+/g, '<span class="whole">$&</span>');
}

function room(): string {
  return '<td class="room"></td>';
}
