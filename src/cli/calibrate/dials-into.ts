/** `calibrate --into`: what the recordings show of dials, written into a rack's file. */

import { KINDS } from '../../modules/kinds.ts';
import { applyEdits } from '../../patch/edit/edit.ts';
import { readRack } from '../../patch/rack/read-rack.ts';
import { entryOf, type MapNode, type Node } from '../../patch/text/nodes.ts';
import { Report } from '../../patch/text/report.ts';
import { type SourceText, sourceOf } from '../../patch/text/source.ts';
import { readYaml } from '../../patch/text/yaml.ts';
import { formatBriefly } from '../../patch/units.ts';
import { wrongFile } from '../exit.ts';
import { problemsStop } from '../read-patch.ts';
import type { CalibratedDial } from './calibrated.ts';

/**
 * Reports where a rack's own positions of a dial and the measured ones do not fit into one table. A position
 * that was measured again takes the place of the old one.
 */
export function requireFits(dials: readonly CalibratedDial[], report: Report): void {
  for (const { dial, points } of dials) {
    const known = dial.owned?.dials.get(dial.setting);
    if (known === undefined) continue;
    const kept = known.points
      .filter(({ position }) => points.every(({ clip }) => clip.position !== position))
      .map(({ position, value }) => ({ position, value, clip: undefined, text: '' }));
    const all = [
      ...kept,
      ...points.map((point) => ({ ...point, position: point.clip.position })),
    ].sort((a, b) => a.position - b.position);
    const rises = (points.at(-1)?.value ?? 0) > (points[0]?.value ?? 0);
    all.forEach((point, k) => {
      const before = all[k - 1];
      if (before === undefined || (rises ? point.value > before.value : point.value < before.value))
        return;
      const own = point.clip === undefined ? before : point;
      const other = point.clip === undefined ? point : before;
      if (own.clip === undefined) return;
      report.add(
        'range',
        own.clip.place,
        `${own.text} at ${own.clip.words} contradicts what ${dial.owned?.name} has at ${other.position} in the rack`,
        {
          expected: `a clip for ${other.position} as well, or that position taken out of the rack`,
        },
      );
    });
  }
}

/**
 * Gives the text of a rack with tables in it; comments and layout stay.
 * @throws Stop where the file's layout does not let it be changed in place.
 */
export function withDials(file: string, text: string, dials: readonly CalibratedDial[]): string {
  let changed = text;
  for (const made of dials) {
    for (const { path, value } of valuesOf(file, changed, made)) {
      const next = applyEdits(file, changed, [{ type: 'set-value', file, path, text: value }]);
      if (next === undefined)
        throw wrongFile(
          file,
          `${path.join('.')} cannot be changed in place. Write it on a line of its own: ${made.dial.setting}: ${tableText(made)}.`,
        );
      changed = next;
    }
    changed = withComment(file, changed, made);
  }
  const { problems } = readRack(changed, { file, kinds: KINDS });
  if (problems.length > 0)
    throw problemsStop(problems, { main: file, set: [], texts: { [file]: changed } });
  return changed;
}

/** A position of a dial whose value in the rack a measured one takes the place of, as both are written. */
export interface ReplacedPosition {
  readonly unit: string;
  readonly setting: string;
  readonly position: number;
  readonly before: string;
  readonly after: string;
}

/** The positions that a rack had otherwise, by more than a rounding of what is written. */
export function replacedPositions(dials: readonly CalibratedDial[]): readonly ReplacedPosition[] {
  return dials.flatMap(({ dial, points }) => {
    const known = dial.owned?.dials.get(dial.setting);
    if (known === undefined) return [];
    return points.flatMap(({ clip: { position }, text, value }) => {
      const before = known.points.find((point) => point.position === position);
      if (before === undefined || Math.abs(before.value - value) <= SAME * Math.abs(value))
        return [];
      const { unit, setting } = dial;
      const was = formatBriefly(before.value, known.quantity);
      return [{ unit, setting, position, before: was, after: text }];
    });
  });
}

/** A sentence without its full stop. */
export function replacedPositionText(one: ReplacedPosition): string {
  return `${one.unit}.${one.setting} at ${one.position}: ${one.after} takes the place of ${one.before}`;
}

/** Bits that writing and reading a number leave. */
const SAME = 1e-6;

/** The table as it is written into a rack that does not have it yet. */
export function tableText({ points }: CalibratedDial): string {
  return `{ ${points.map(({ clip, text }) => `${clip.words}: ${text}`).join(', ')} }`;
}

/** Neighbours that are named one by one. */
const MOST_NAMED = 6;
const CLOSE = 'closer than their errors';

/** Which neighbours cannot be told apart; undefined where all can. */
export function closeText({ dial, close }: CalibratedDial): string | undefined {
  if (close.length === 0) return undefined;
  const pairs = close
    .slice(0, MOST_NAMED)
    .map(([one, other]) => `${one.clip.words} and ${other.clip.words}`);
  const more = close.length > MOST_NAMED ? ` and ${close.length - MOST_NAMED} pairs more` : '';
  return `${dial.setting}: ${pairs.join(', ')}${more} are ${CLOSE}`;
}

/** Says it at the end of the line of the dial, in place of what an earlier run has said there. */
function withComment(file: string, text: string, made: CalibratedDial): string {
  const { unit, setting } = made.dial;
  const dials = mapAt(sourceOf(file, text), ['units', unit, 'dials']);
  const entry = dials && entryOf(dials, setting);
  if (entry === undefined) return text;
  const lines = text.split('\n');
  const index = entry.at.line - 1;
  const [, line = '', end = ''] = /^(.*?)(\r?)$/.exec(lines[index] ?? '') ?? [];
  const words = closeText(made);
  const kept = line.replace(new RegExp(` # ${setting}: [^#]* are ${CLOSE}`), '');
  lines[index] = `${kept}${words === undefined ? '' : ` # ${words}`}${end}`;
  return lines.join('\n');
}

interface DialChange {
  readonly path: readonly string[];
  readonly value: string;
}

function valuesOf(file: string, text: string, made: CalibratedDial): readonly DialChange[] {
  const { unit, setting } = made.dial;
  const path = ['units', unit, 'dials', setting];
  const source = sourceOf(file, text);
  const table = mapAt(source, path);
  if (table === undefined) return [{ path, value: tableText(made) }];
  const keyOf = (position: number): string | undefined =>
    table.entries.find(({ key }) => Number(key) === position)?.key;
  const changes = made.points.map(({ clip, text: value }) => ({
    path: [...path, keyOf(clip.position) ?? clip.words],
    value,
  }));
  const isNew = made.points.some(({ clip }) => keyOf(clip.position) === undefined);
  if (!isNew || !isOnOneLine(source, table)) return changes;
  // A map on one line is written whole, so all of it can be put in order.
  const words = new Map<number, string>();
  for (const { key, value } of table.entries)
    if (value.type === 'text') words.set(Number(key), `${key}: ${value.text}`);
  for (const { clip, text: value } of made.points)
    words.set(clip.position, `${keyOf(clip.position) ?? clip.words}: ${value}`);
  const sorted = [...words].sort(([a], [b]) => a - b).map(([, word]) => word);
  return [{ path, value: `{ ${sorted.join(', ')} }` }];
}

function mapAt(source: SourceText, path: readonly string[]): MapNode | undefined {
  let node: Node | undefined = readYaml(source, new Report());
  for (const key of path) node = node?.type === 'map' ? entryOf(node, key)?.value : undefined;
  return node?.type === 'map' ? node : undefined;
}

/** Whether a map is written as `{ ... }` on one line. */
function isOnOneLine({ text, lineStarts }: SourceText, { place }: MapNode): boolean {
  const from = (lineStarts[place.line - 1] ?? 0) + place.column - 1;
  const words = text.slice(from, from + place.length).trim();
  return words.startsWith('{') && words.endsWith('}');
}
