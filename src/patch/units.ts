/** Numbers with their units: what a patch may write for each quantity, and how it is written back. */

import type {
  NumberSpec,
  Quantity,
  Rate,
  RecordingSpec,
  RowSpec,
  RowsSpec,
  ScoreSpec,
  SettingSpec,
  Span,
} from '../modules/definition.ts';
import { nearest } from './text/nearest.ts';
import type { ProblemCode } from './text/problem.ts';
import { type Advice, quoted } from './text/report.ts';

/** Every setting that is one text in the file and means the same wherever that lies. */
export type PlainSpec = Exclude<SettingSpec, RowSpec | RowsSpec | RecordingSpec | ScoreSpec>;

/** A value, or why there is none. */
export type ReadValue<T> =
  | { readonly value: T; readonly fault?: undefined }
  | { readonly fault: Fault };

export interface Fault extends Advice {
  readonly code: ProblemCode;
  readonly message: string;
}

interface UnitFactor {
  readonly name: string;
  /** The value is number x multiply / divide; dividing keeps 55 ms the double nearest to 0.055. */
  readonly multiply: number;
  readonly divide: number;
}

interface Family {
  /** With its article: "a time". */
  readonly noun: string;
  /** What one looks like, where the fallback is nothing at all. */
  readonly example: number;
  /**
   * Whether it is turned, heard and compared in ratios: 100 ms to 200 ms is as far as 1 s to 2 s. Decibels and
   * intervals are logarithms already, volts may be pitch, and volts and percentages go through zero. A plain
   * number is a factor, as q is; what is counted is doubled and halved.
   */
  readonly inRatios: boolean;
  readonly units: readonly UnitFactor[];
}

function unit(name: string, multiply = 1, divide = 1): UnitFactor {
  return { name, multiply, divide };
}

/** Micro and ohm are looked up as the Greek letters, which `unified` makes of the older signs. */
const FAMILIES: { readonly [Q in Quantity]: Family } = {
  time: {
    noun: 'a time',
    example: 0.008,
    inRatios: true,
    units: [unit('s'), unit('ms', 1, 1e3), unit('us', 1, 1e6), unit('μs', 1, 1e6)],
  },
  frequency: {
    noun: 'a frequency',
    example: 440,
    inRatios: true,
    units: [unit('Hz'), unit('kHz', 1e3)],
  },
  voltage: {
    noun: 'a voltage',
    example: 1,
    inRatios: false,
    units: [unit('V'), unit('mV', 1, 1e3)],
  },
  percent: { noun: 'a percentage', example: 0.5, inRatios: false, units: [unit('%', 1, 100)] },
  decibel: { noun: 'a level', example: -6, inRatios: false, units: [unit('dB')] },
  tempo: { noun: 'a tempo', example: 92, inRatios: true, units: [unit('bpm')] },
  interval: {
    noun: 'an interval',
    example: 7,
    inRatios: false,
    units: [unit('st'), unit('cents', 1, 100)],
  },
  resistance: {
    noun: 'a resistance',
    example: 100_000,
    inRatios: true,
    units: [
      unit('ohm'),
      unit('kohm', 1e3),
      unit('Mohm', 1e6),
      unit('Ω'),
      unit('kΩ', 1e3),
      unit('MΩ', 1e6),
    ],
  },
  number: { noun: 'a plain number', example: 0, inRatios: true, units: [] },
  count: { noun: 'a whole number', example: 0, inRatios: true, units: [] },
};

/** Finer than a hand sets, an ear hears or a tolerance allows. */
export const BRIEF_DIGITS = 4;
/** Characters in a number and its unit; no real one is nearly as long. */
const MAX_LENGTH = 400;
const [MICRO, MU] = ['\u00B5', '\u03BC'];
const [OHM, OMEGA] = ['\u2126', '\u03A9'];

/** What people write in place of a unit. */
const WORDS: ReadonlyMap<string, string> = new Map([
  ['sec', 's'],
  ['second', 's'],
  ['seconds', 's'],
  ['msec', 'ms'],
  ['millisecond', 'ms'],
  ['milliseconds', 'ms'],
  ['hertz', 'Hz'],
  ['volt', 'V'],
  ['volts', 'V'],
  ['percent', '%'],
  ['semitone', 'st'],
  ['semitones', 'st'],
  ['cent', 'cents'],
  ['ohms', 'ohm'],
]);

/** The shape of a number in YAML 1.2.2, 10.3.2 (tag:yaml.org,2002:float), without .inf and .nan. */
const NUMBER = /^[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?/;

/** Whether equal steps of a quantity are equal ratios. */
export function isInRatios(quantity: Quantity): boolean {
  return FAMILIES[quantity].inRatios;
}

/** Every way to write a unit of the quantity, as the schema lists them. */
export function unitsOf(quantity: Quantity): readonly string[] {
  return FAMILIES[quantity].units.flatMap(({ name }) => {
    const older = name.replace(MU, MICRO).replace(OMEGA, OHM);
    return older === name ? [name] : [name, older];
  });
}

/**
 * Reads a number with its unit, as in `55 ms`, `7.5 kHz`, `16 ms tau`; the space may be left out.
 * @param subject the setting's name, for the message.
 * @returns the value in the unit of {@link Quantity}, finite and within the spec's range, or the
 * fault: no number (`wrong-type`), no unit or a wrong one (`unit`), out of bounds (`range`).
 */
export function parseValue(text: string, spec: NumberSpec, subject: string): ReadValue<number> {
  const reading = readNumber(text.trim(), spec, subject);
  return reading.fault ? { fault: { ...reading.fault, expected: expectedNumber(spec) } } : reading;
}

function readNumber(words: string, spec: NumberSpec, subject: string): ReadValue<number> {
  const family = FAMILIES[spec.type];
  const match = words.length > MAX_LENGTH ? null : NUMBER.exec(words);
  if (!match) return { fault: notNumber(words, family) };
  const rest = words.slice(match[0].length).trim();
  const [, name, tau] = /^(.*?)(\s*\btau)?$/s.exec(rest) as unknown as [string, string, string?];
  if (/[0-9.,_]/.test(name)) return { fault: notNumber(words, family) };
  const fault = unitFault(name, family, spec.type, subject);
  if (fault) return { fault };
  if (tau !== undefined && spec.timeConstants === undefined) {
    const message = `${quoted(subject)} is not a stage that has a time constant`;
    return { fault: { code: 'unit', message } };
  }
  const scale = family.units.find((one) => one.name === unified(name)) ?? unit('');
  const value =
    ((Number(match[0]) * scale.multiply) / scale.divide) *
    (tau === undefined ? 1 : (spec.timeConstants as number));
  if (spec.type === 'count' && !Number.isInteger(value)) {
    const message = `${quoted(subject)} is not whole: ${quoted(words)}`;
    return { fault: { code: 'wrong-type', message } };
  }
  if (!(value >= spec.min && value <= spec.max)) {
    const message = `${quoted(subject)} is out of range: ${quoted(words)}`;
    return { fault: { code: 'range', message } };
  }
  // A negative zero would print as such.
  return { value: value === 0 ? 0 : value };
}

/**
 * Writes a value as a patch would hold it: `55 ms`, `7.5 kHz`, `2 per quarter`.
 * @param value in the unit of {@link Quantity}. Reading the text back gives it to 1 part in 1e12.
 */
export function formatValue(value: unknown, type: PlainSpec['type']): string {
  if (type === 'choice' || type === 'flag') return String(value);
  if (type === 'span') {
    const span = value as Span;
    return formatValue(span.value, span.unit === 'steps' ? 'percent' : 'time');
  }
  if (type === 'rate') {
    const rate = value as Rate;
    return `${rate.count} per ${rate.per}`;
  }
  const number = value as number;
  const scale = writtenUnit(Math.abs(number), type);
  // Thirteen digits hide the last bits that scaling leaves, as in 0.07 x 100.
  const digits = Number(((number * scale.divide) / scale.multiply).toPrecision(13));
  return scale.name === '' ? String(digits) : `${digits} ${scale.name}`;
}

/** As {@link formatValue}, to some digits: for values that are worked out or fallbacks, for people to read. */
export function formatBriefly(value: number, type: Quantity, digits = BRIEF_DIGITS): string {
  return formatValue(Number(value.toPrecision(digits)), type);
}

/** What would have been right: "a time such as 55 ms, from 0 s to 60 s". */
export function expectedNumber(spec: NumberSpec): string {
  const { noun, example: usual } = FAMILIES[spec.type];
  const shown = spec.fallback === 0 ? Math.min(Math.max(usual, spec.min), spec.max) : spec.fallback;
  const [example, min, max] = [shown, spec.min, spec.max].map((value) =>
    formatBriefly(value, spec.type),
  );
  const constant = spec.timeConstants === undefined ? '' : ' (or 16 ms tau)';
  return `${noun} such as ${example}${constant}, from ${min} to ${max}`;
}

function notNumber(words: string, family: Family): Fault {
  const comma = /^([-+]?[0-9]+),([0-9]+)(.*)$/s.exec(words);
  const message = comma
    ? `a number has a point, not a comma: ${quoted(words)}`
    : `${quoted(words)} is not ${family.noun}`;
  // Three digits after the comma may as well be thousands.
  const near = comma && comma[2]?.length !== 3 ? `${comma[1]}.${comma[2]}${comma[3]}` : undefined;
  return { code: 'wrong-type', message, nearest: near };
}

function unitFault(
  name: string,
  family: Family,
  quantity: Quantity,
  subject: string,
): Fault | undefined {
  const names = family.units.map((one) => one.name);
  const sought = unified(name);
  if (names.length === 0 ? sought === '' : names.includes(sought)) return undefined;
  if (sought === '') return { code: 'unit', message: `${quoted(subject)} has no unit` };
  if (names.length === 0) {
    const message = `${quoted(subject)} takes no unit: ${quoted(name)}`;
    return { code: 'unit', message };
  }
  for (const [other, { noun, units }] of Object.entries(FAMILIES)) {
    if (other !== quantity && units.some((one) => one.name === sought)) {
      const message = `${quoted(subject)} is ${family.noun}, and ${sought} is the unit of ${noun}`;
      return { code: 'unit', message };
    }
  }
  const word = WORDS.get(sought.toLowerCase());
  const near = word !== undefined && names.includes(word) ? word : nearest(sought, names);
  return { code: 'unit', message: `there is no unit ${quoted(name)}`, nearest: near };
}

/** One letter for each of the two that Unicode has twice: micro and mu, ohm and omega. */
function unified(name: string): string {
  return name.replace(MICRO, MU).replace(OHM, OMEGA);
}

function writtenUnit(size: number, quantity: Quantity): UnitFactor {
  const { units } = FAMILIES[quantity];
  const plain = units[0] ?? unit('');
  const named = (name: string): UnitFactor => units.find((one) => one.name === name) ?? plain;
  if (size === 0) return plain;
  switch (quantity) {
    case 'time':
      // As one says it: 0.4 ms, and 50 us.
      return named(size >= 1 ? 's' : size >= 1e-4 ? 'ms' : 'us');
    case 'frequency':
      return named(size >= 1e3 ? 'kHz' : 'Hz');
    case 'voltage':
      return named(size >= 0.1 ? 'V' : 'mV');
    case 'interval':
      return named(size >= 1 ? 'st' : 'cents');
    case 'resistance':
      return named(size >= 1e6 ? 'Mohm' : size >= 1e3 ? 'kohm' : 'ohm');
    default:
      return plain;
  }
}
