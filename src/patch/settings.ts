/** Reads the value of any setting that is one text in the file, by what its spec says. */

import type {
  ChoiceSpec,
  NumberSpec,
  Quantity,
  Rate,
  RateSpec,
  ScoreSpec,
  SettingSpec,
  Span,
  SpanSpec,
} from '../modules/definition.ts';
import { nearest } from './text/nearest.ts';
import { type Entry, isEmpty, reportWrong } from './text/nodes.ts';
import { quoted, type Report } from './text/report.ts';
import {
  expectedNumber,
  formatValue,
  type PlainSpec,
  parseValue,
  type ReadValue,
} from './units.ts';

/** Pulses per quarter note or per step. */
export const MAX_RATE = 96;
/** The bounds of a span, in s and in steps; no definition has its own. */
export const SPAN_SECONDS = { min: 1e-5, max: 60 };
export const SPAN_STEPS = { min: 0.01, max: 10 };

const SCORE_TYPES: ReadonlySet<string> = new Set(['channels', 'patterns', 'song', 'notes']);

/** Whether the setting is one of those that make a score. */
export function isScoreSpec(spec: SettingSpec): spec is ScoreSpec {
  return SCORE_TYPES.has(spec.type);
}

/** The value of a setting that the file gives; undefined, and reported, if it is not right. */
export function readSetting(entry: Entry, spec: PlainSpec, report: Report): unknown {
  const node = entry.value;
  if (node.type !== 'text' || isEmpty(node)) return reportWrong(entry, expectedOf(spec), report);
  const reading = parseSetting(node.text, spec, entry.key);
  if (!reading.fault) return reading.value;
  report.add(reading.fault.code, node.place, reading.fault.message, reading.fault);
  return undefined;
}

/**
 * Reads the text of a setting, as in the file or from a control on a page.
 * @param subject the setting's name, for the message.
 */
export function parseSetting(text: string, spec: PlainSpec, subject: string): ReadValue<unknown> {
  switch (spec.type) {
    case 'choice':
      return parseChoice(text, spec, subject);
    case 'flag':
      return parseFlag(text, subject);
    case 'span':
      return parseSpan(text, spec, subject);
    case 'rate':
      return parseRate(text, spec, subject);
    default:
      return parseValue(text, spec, subject);
  }
}

const SPAN_RULE = `a time such as 8 ms, from ${formatValue(SPAN_SECONDS.min, 'time')} to ${formatValue(SPAN_SECONDS.max, 'time')}, or a share of a step such as 50 %, from ${formatValue(SPAN_STEPS.min, 'percent')} to ${formatValue(SPAN_STEPS.max, 'percent')}`;

/** What would have been right, for people. */
export function expectedOf(spec: PlainSpec): string {
  switch (spec.type) {
    case 'choice':
      return `one of ${spec.options.join(', ')}`;
    case 'flag':
      return 'true or false';
    case 'span':
      return SPAN_RULE;
    case 'rate':
      return `pulses such as 2 per quarter or 1 per step, from 1 to ${MAX_RATE}`;
    default:
      return expectedNumber(spec);
  }
}

function parseChoice(text: string, spec: ChoiceSpec, subject: string): ReadValue<string> {
  const word = text.trim();
  if (spec.options.includes(word)) return { value: word };
  const message = `${quoted(subject)} cannot be ${quoted(word)}`;
  const near = nearest(word, spec.options);
  return { fault: { code: 'unknown-name', message, expected: expectedOf(spec), nearest: near } };
}

/** Source: YAML 1.2.2, 10.3.2, the forms of tag:yaml.org,2002:bool. */
function parseFlag(text: string, subject: string): ReadValue<boolean> {
  if (/^(?:true|True|TRUE)$/.test(text)) return { value: true };
  if (/^(?:false|False|FALSE)$/.test(text)) return { value: false };
  const near = /^(?:yes|on)$/i.test(text)
    ? 'true'
    : /^(?:no|off)$/i.test(text)
      ? 'false'
      : nearest(text, ['true', 'false']);
  const message = `${quoted(subject)} cannot be ${quoted(text)}`;
  return { fault: { code: 'wrong-type', message, expected: 'true or false', nearest: near } };
}

/** A time (`8 ms`) or a share of a step (`50 %`). */
function parseSpan(text: string, spec: SpanSpec, subject: string): ReadValue<Span> {
  const share = text.includes('%');
  const type: Quantity = share ? 'percent' : 'time';
  const { min, max } = share ? SPAN_STEPS : SPAN_SECONDS;
  const number: NumberSpec = { type, min, max, fallback: min, about: spec.about };
  const reading = parseValue(text, number, subject);
  if (!reading.fault) {
    return { value: { unit: share ? 'steps' : 'seconds', value: reading.value } };
  }
  // Out of range, the bounds help; otherwise, that both units are allowed.
  const expected = reading.fault.code === 'range' ? reading.fault.expected : expectedOf(spec);
  return { fault: { ...reading.fault, expected } };
}

/** `2 per quarter` or `1 per step`. */
function parseRate(text: string, spec: RateSpec, subject: string): ReadValue<Rate> {
  const match = /^([0-9]+)\s+per\s+(\S+)$/.exec(text.trim());
  const [count, per] = [Number(match?.[1]), match?.[2]];
  if (per === undefined) {
    const message = `${quoted(subject)} is not a rate: ${quoted(text)}`;
    return { fault: { code: 'wrong-type', message, expected: expectedOf(spec) } };
  }
  if (per !== 'quarter' && per !== 'step') {
    const message = `a rate is per quarter or per step, not per ${quoted(per)}`;
    const near = nearest(per, ['quarter', 'step']);
    return { fault: { code: 'unit', message, expected: expectedOf(spec), nearest: near } };
  }
  if (!(count >= 1 && count <= MAX_RATE)) {
    const message = `${quoted(subject)} is out of range: ${quoted(text)}`;
    return { fault: { code: 'range', message, expected: expectedOf(spec) } };
  }
  return { value: { count, per } };
}
