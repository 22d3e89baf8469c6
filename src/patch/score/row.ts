/** Settings of several values: pitches as a list of notes or volts, gates as drum tab, plain numbers. */

import type { Row, RowSpec, RowsSpec } from '../../modules/definition.ts';
import { counted } from '../text/counted.ts';
import { checkName, type Entry, isEmpty, listOf, mapOf, type Node, textOf } from '../text/nodes.ts';
import { quoted, type Report } from '../text/report.ts';
import { formatValue, parseValue, type ReadValue } from '../units.ts';

/** Semitones above C. */
const LETTERS: ReadonlyMap<string, number> = new Map([
  ['C', 0],
  ['D', 2],
  ['E', 4],
  ['F', 5],
  ['G', 7],
  ['A', 9],
  ['B', 11],
]);
/** The octave whose C is at 0 V. */
const OCTAVE_AT_ZERO = 2;
/** Schema and reader agree on what a note looks like. */
export const NOTE_PATTERN = '[A-G][#b]?-?[0-9]';
export const GATE_ROW_PATTERN = '^[x|\\s-]*[x-][x|\\s-]*$';
const NOTE = new RegExp(`^${NOTE_PATTERN}$`);

/** What would have been right, for people. */
export function expectedRow({ unit, shortest, longest, min, max, fallback }: RowSpec): string {
  if (unit === 'number')
    return `${shortest} to ${longest} numbers, such as [${fallback.slice(0, 3).join(', ')}], from ${min} to ${max}`;
  if (unit === 'gate') return `x for on and - for off, such as "x-x-", 1 to ${longest} steps`;
  const [low, high] = [formatValue(min, 'voltage'), formatValue(max, 'voltage')];
  return `1 to ${longest} notes or voltages, such as [C2, Eb2, 0.5 V], from ${low} to ${high}`;
}

/** The same for rows by name. */
export function expectedRows({ row, most }: RowsSpec): string {
  return `at most ${most} rows by name, such as { pitch: [C2, Eb2], bright: [0 V, 2 V] }, each of ${expectedRow(row)}`;
}

/**
 * The rows that a file names; undefined, and reported, if one of them is not right.
 * @param ownJacks names of the jacks that the module has without any row.
 */
export function readRows(
  entry: Entry,
  spec: RowsSpec,
  ownJacks: readonly string[],
  report: Report,
): readonly Row[] | undefined {
  const before = report.count;
  const map = mapOf(entry, expectedRows(spec), report);
  if (!map) return undefined;
  if (map.entries.length > spec.most) {
    const message = `${map.entries.length} rows`;
    report.add('too-big', entry.at, message, { expected: `at most ${spec.most}` });
    return undefined;
  }
  const rows: Row[] = [];
  for (const one of map.entries) {
    if (!checkName(one.key, one.at, report)) continue;
    if (ownJacks.includes(one.key)) {
      const message = `the row ${quoted(one.key)} is the name of a jack that the module has anyway`;
      report.add('duplicate', one.at, message, { expected: 'another name' });
      continue;
    }
    const values = readRow(one, spec.row, report);
    if (values) rows.push({ name: one.key, values });
  }
  return report.count === before ? rows : undefined;
}

/** The values of a row; undefined, and reported, if one of them is not right. */
export function readRow(
  entry: Entry,
  spec: RowSpec,
  report: Report,
): readonly number[] | undefined {
  const before = report.count;
  const values = spec.unit === 'gate' ? gates(entry, spec, report) : listed(entry, spec, report);
  if (!values) return undefined;
  if (values.length < spec.shortest || values.length > spec.longest) {
    const message = `${quoted(entry.key)} has ${counted(values.length, itemOf(spec))}`;
    report.add('range', entry.at, message, { expected: expectedRow(spec) });
  }
  return report.count === before ? values : undefined;
}

/** What one value is called. */
function itemOf({ unit, item }: RowSpec): string {
  return item ?? (unit === 'number' ? 'number' : 'step');
}

function gates(entry: Entry, spec: RowSpec, report: Report): readonly number[] | undefined {
  const node = textOf(entry, expectedRow(spec), report);
  if (!node) return undefined;
  for (const { 0: wrong, index } of node.text.matchAll(/[^x\s|-]+/g)) {
    const at = node.within(index, index + wrong.length);
    report.add('pattern', at, `${quoted(wrong)} is not a step`, { expected: expectedRow(spec) });
  }
  return [...node.text.matchAll(/[x-]/g)].map(([sign]) => (sign === 'x' ? 1 : 0));
}

function listed(entry: Entry, spec: RowSpec, report: Report): readonly number[] | undefined {
  const list = listOf(entry, expectedRow(spec), report);
  return list?.items.map((item) => itemValue(item, entry, spec, report));
}

function itemValue(item: Node, { key, at }: Entry, spec: RowSpec, report: Report): number {
  if (item.type === 'broken') return 0;
  if (item.type !== 'text' || isEmpty(item)) {
    const place = isEmpty(item) ? at : item.place;
    const message =
      spec.unit === 'number'
        ? `an item of ${quoted(key)} is no number`
        : `a ${itemOf(spec)} of ${quoted(key)} is no note or voltage`;
    report.add('wrong-type', place, message, { expected: expectedRow(spec) });
    return 0;
  }
  const reading = parseItem(item.text, spec, key);
  if (!reading.fault) return reading.value;
  const { code, message, nearest } = reading.fault;
  report.add(code, item.place, message, { expected: expectedRow(spec), nearest });
  return 0;
}

function parseItem(text: string, spec: RowSpec, subject: string): ReadValue<number> {
  if (spec.unit === 'pitch') return parsePitch(text, spec, subject);
  const { min, max, about } = spec;
  return parseValue(text, { type: 'number', min, max, fallback: min, about }, subject);
}

/** Reads `Eb2` or `0.25 V`: one volt an octave, 0 V at C2. */
function parsePitch(text: string, spec: RowSpec, subject: string): ReadValue<number> {
  const { min, max, about } = spec;
  if (!NOTE.test(text)) {
    const volts = parseValue(text, { type: 'voltage', min, max, fallback: 0, about }, subject);
    const upper = text.charAt(0).toUpperCase() + text.slice(1);
    if (!volts.fault || !NOTE.test(upper)) return volts;
    return { fault: { ...volts.fault, message: `${quoted(text)} is not a note`, nearest: upper } };
  }
  const sign = text.charAt(1);
  const accidental = sign === '#' ? 1 : sign === 'b' ? -1 : 0;
  const octave = Number(text.slice(accidental === 0 ? 1 : 2));
  const semitones = (LETTERS.get(text.charAt(0)) as number) + accidental;
  const value = octave - OCTAVE_AT_ZERO + semitones / 12;
  if (value >= min && value <= max) return { value };
  return {
    fault: { code: 'range', message: `${quoted(subject)} is out of range: ${quoted(text)}` },
  };
}

/** The twelve semitones from C, as they are most often called. */
const NAMES = ['C', 'C#', 'D', 'Eb', 'E', 'F', 'F#', 'G', 'Ab', 'A', 'Bb', 'B'];

/** Volts: what a sum of semitones may be off by. */
const ROUNDING = 1e-12;

/** The note that a voltage is, or else the voltage. */
function formatPitch(value: number, spec: RowSpec): string {
  const semitones = Math.round(value * 12);
  const octave = Math.floor(semitones / 12);
  const note = `${NAMES[semitones - 12 * octave]}${octave + OCTAVE_AT_ZERO}`;
  const reading = NOTE.test(note) ? parsePitch(note, spec, '') : undefined;
  return reading && !reading.fault && Math.abs(reading.value - value) <= ROUNDING
    ? note
    : formatValue(value, 'voltage');
}

/** Writes a row as a patch would hold it: `[C2, Eb2, 0.3 V]`, or tab such as `x-x-`. */
export function formatRow(values: readonly number[], spec: RowSpec): string {
  if (spec.unit === 'gate') return values.map((value) => (value > 0 ? 'x' : '-')).join('');
  const one = (value: number): string =>
    spec.unit === 'pitch' ? formatPitch(value, spec) : formatValue(value, 'number');
  return `[${values.map(one).join(', ')}]`;
}

/** Writes rows as a patch would hold them: `{ pitch: [C2, Eb2] }`. */
export function formatRows(rows: readonly Row[], { row }: RowsSpec): string {
  if (rows.length === 0) return '{}';
  return `{ ${rows.map(({ name, values }) => `${name}: ${formatRow(values, row)}`).join(', ')} }`;
}
