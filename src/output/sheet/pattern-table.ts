/**
 * A pattern on ruled paper: a line a channel, its steps as signs with their letters of drum tab under
 * them. What is long goes on below, as music does. A line shorter than the pattern is drawn to the
 * pattern's end, what it plays again in grey and without letters.
 */

import { largest } from '../../modules/dsp/extremes.ts';
import { escaped } from '../markup.ts';
import type { LineSheet, PatternSheet } from './patterns.ts';
import { signMarkup } from './step-sign.ts';

/** Steps side by side that half a sheet of paper has room for. */
const MOST_BESIDE = 24;
/** What is said in words rather than drawn: how often a line goes round in so long a pattern. */
const MOST_DRAWN = 64;

/** Steps that a pattern is drawn with: all of its lines, and to its end if that is not far. */
export function stepsDrawn(length: number, lines: readonly number[]): number {
  return Math.max(largest(lines, 1), Math.min(length, MOST_DRAWN));
}

/** Draws it. */
export function patternTable({ name, stepsPerQuarter, length, lines }: PatternSheet): string {
  const count = stepsDrawn(
    length,
    lines.map(({ signs }) => signs.length),
  );
  const beside = besideOf(stepsPerQuarter);
  const systems: string[] = [];
  for (let from = 0; from < count; from += beside) {
    const to = Math.min(count, from + beside);
    const rows = lines.map((line) => rowOf(line, from, to, stepsPerQuarter));
    systems.push(`<table class="signs" aria-label="Pattern ${escaped(name)}, steps ${from + 1} to ${to}">
<thead><tr><td></td>${headsOf(from, to, stepsPerQuarter)}</tr></thead>
<tbody>
${rows.join('\n')}
</tbody>
</table>`);
  }
  return systems.join('\n');
}

/** Whole quarters where they fit, four of them at most. */
function besideOf(stepsPerQuarter: number): number {
  const quarters = Math.min(4, Math.floor(MOST_BESIDE / stepsPerQuarter));
  return quarters > 0 ? quarters * stepsPerQuarter : MOST_BESIDE;
}

function headsOf(from: number, to: number, stepsPerQuarter: number): string {
  return steps(from, to)
    .map((step) => {
      return step % stepsPerQuarter === 0
        ? `<th scope="col" class="beat">${step / stepsPerQuarter + 1}</th>`
        : '<td></td>';
    })
    .join('');
}

function rowOf(
  { channel, signs, marks }: LineSheet,
  from: number,
  to: number,
  stepsPerQuarter: number,
): string {
  const cells = steps(from, to).map((step) => {
    const own = step % signs.length;
    const style = [
      ...(step % stepsPerQuarter === 0 ? ['beat'] : []),
      ...(step < signs.length ? [] : ['again']),
    ].join(' ');
    const sign = signs[own] as string;
    const letter = step < signs.length ? escaped(sign) : '';
    return `<td${style === '' ? '' : ` class="${style}"`}>${signMarkup(sign, marks.get(own))}${letter}</td>`;
  });
  return `<tr><th scope="row">${escaped(channel)}</th>${cells.join('')}</tr>`;
}

function steps(from: number, to: number): readonly number[] {
  return Array.from({ length: to - from }, (_, index) => from + index);
}

/** How it looks. */
export const TABLE_STYLE = `.signs{width:auto;table-layout:fixed;margin:0 0 .5rem}
.signs th,.signs td{padding:0;border-bottom:1px solid var(--faint);text-align:center;font:.8rem/1 ui-monospace,"Liberation Mono",monospace;vertical-align:bottom}
.signs thead th{border-bottom:0;color:var(--quiet);text-align:left;padding-left:.15rem}
.signs tbody th{width:7rem;text-align:left;font:600 .85rem/1.1 system-ui,sans-serif;padding-right:.4rem;overflow-wrap:anywhere}
.signs thead td{border:0}.signs thead td:first-child{width:7rem}.round{color:var(--quiet)}
.signs td,.signs thead th{width:1.15rem}
.signs td{padding-bottom:.1rem;color:var(--quiet)}
.signs .beat{border-left:1px solid var(--faint)}
@media print{.signs td,.signs thead th{width:3.4mm}.signs tbody th,.signs thead td:first-child{width:22mm}.signs th,.signs td{font-size:7pt;line-height:1}.signs td{padding-bottom:0}.signs .step{width:2.7mm;height:3.1mm;margin:0 auto}.signs{margin-bottom:.15rem}.round{margin:.1rem 0;font-size:8pt}.signs tbody th{font-size:8pt}.signs tr{break-inside:avoid}}
`;
