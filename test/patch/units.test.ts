/** Values with units: SI prefixes and closed forms, the help with slips, and the way back to text. */

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { NumberSpec, Quantity } from '../../src/modules/definition.ts';
import { formatRow } from '../../src/patch/score/row.ts';
import { parseSetting } from '../../src/patch/settings.ts';
import { formatValue, parseValue } from '../../src/patch/units.ts';
import { close } from '../close.ts';

function spec(type: Quantity, more: Partial<NumberSpec> = {}): NumberSpec {
  return { type, min: -1e12, max: 1e12, fallback: 1, about: '', ...more };
}

describe('a number with its unit', () => {
  // SI prefixes: milli 1e-3, micro 1e-6, kilo 1e3, mega 1e6 (BIPM, The International System of
  // Units, 9th edition, table 7). A cent is 1/100 of a semitone, per cent 1/100 (ISO 80000-1).
  // Exact: the text of a decimal and the double nearest to it are the same number in JavaScript.
  test.each<[string, Quantity, number]>([
    ['8 ms', 'time', 0.008],
    ['55ms', 'time', 0.055],
    ['0.4 ms', 'time', 0.0004],
    ['500 us', 'time', 0.0005],
    ['500 \u00B5s', 'time', 0.0005],
    ['500 \u03BCs', 'time', 0.0005],
    ['2 s', 'time', 2],
    ['0 s', 'time', 0],
    ['7.5 kHz', 'frequency', 7500],
    ['65.406 Hz', 'frequency', 65.406],
    ['-2.5 V', 'voltage', -2.5],
    ['120 mV', 'voltage', 0.12],
    ['70 %', 'percent', 0.7],
    ['66.667%', 'percent', 0.66667],
    ['-3.01 dB', 'decibel', -3.01],
    ['92 bpm', 'tempo', 92],
    ['-7 st', 'interval', -7],
    ['50 cents', 'interval', 0.5],
    ['330 ohm', 'resistance', 330],
    ['4.7 kohm', 'resistance', 4700],
    ['1 Mohm', 'resistance', 1e6],
    ['330 \u03A9', 'resistance', 330],
    ['330 \u2126', 'resistance', 330],
    ['10 k\u03A9', 'resistance', 10_000],
    ['1 M\u2126', 'resistance', 1e6],
    ['0.9', 'number', 0.9],
    ['+.5', 'number', 0.5],
    ['1.5e-1', 'number', 0.15],
    ['5.', 'number', 5],
    ['12', 'count', 12],
    ['1.2e1', 'count', 12],
    ['  8   ms ', 'time', 0.008],
  ])('%s is read', (text, type, value) => {
    expect(parseValue(text, spec(type), 'x')).toEqual({ value });
  });

  test('a time constant gives the stage time: five of them are 99.3 % of the way (1 - exp(-5))', () => {
    const decay = spec('time', { timeConstants: 5 });
    expect(parseValue('16 ms tau', decay, 'decay')).toEqual({ value: 0.08 });
    expect(parseValue('16mstau', decay, 'decay').fault?.code).toBe('unit');
  });

  test('minus zero is zero', () => {
    expect(parseValue('-0 V', spec('voltage'), 'x')).toEqual({ value: 0 });
  });

  test('the bounds themselves are within', () => {
    const bounded = spec('time', { min: 0.0005, max: 0.0603 });
    expect(parseValue('500 us', bounded, 'x')).toEqual({ value: 0.0005 });
    expect(parseValue('60.3 ms', bounded, 'x')).toEqual({ value: 0.0603 });
    expect(parseValue('60.4 ms', bounded, 'x').fault?.code).toBe('range');
    expect(parseValue('499 us', bounded, 'x').fault?.code).toBe('range');
  });

  test.each<[string, Quantity, string | undefined]>([
    ['7 khz', 'frequency', 'kHz'],
    ['7 KHZ', 'frequency', 'kHz'],
    ['7 hz', 'frequency', 'Hz'],
    ['5 MS', 'time', 'ms'],
    ['5 msec', 'time', 'ms'],
    ['5 seconds', 'time', 's'],
    ['5 v', 'voltage', 'V'],
    ['5 percent', 'percent', '%'],
    ['5 db', 'decibel', 'dB'],
    ['92 BPM', 'tempo', 'bpm'],
    ['3 semitones', 'interval', 'st'],
    ['10 KOHM', 'resistance', 'kohm'],
    ['10 mohm', 'resistance', 'Mohm'],
    ['5 parsec', 'time', undefined],
    ['5 V', 'time', undefined],
  ])('%s has a wrong unit', (text, type, nearest) => {
    const { fault } = parseValue(text, spec(type), 'x');
    expect([fault?.code, fault?.nearest]).toEqual(['unit', nearest]);
  });

  test.each<[string, string | undefined]>([
    ['0,4 ms', '0.4 ms'],
    ['-1,25ms', '-1.25ms'],
    ['1,250 ms', undefined],
  ])('%s has a comma for a point', (text, nearest) => {
    const { fault } = parseValue(text, spec('time'), 'x');
    expect(fault?.message).toBe(`a number has a point, not a comma: "${text}"`);
    expect(fault?.nearest).toBe(nearest);
  });

  test.each([
    '',
    'ms',
    'nan',
    'NaN ms',
    '.inf ms',
    'Infinity ms',
    '0x10 ms',
    '0o7 ms',
    '1_000 ms',
    '1 000 ms',
    '--5 ms',
    '1e ms',
    '5 5 ms',
    '. ms',
    'e5 ms',
  ])('"%s" is no time', (text) => {
    expect(parseValue(text, spec('time'), 'x').fault?.code).toMatch(/wrong-type|unit/);
  });
});

describe('values written back', () => {
  test.each<[unknown, Parameters<typeof formatValue>[1], string]>([
    [0.055, 'time', '55 ms'],
    [0.0004, 'time', '0.4 ms'],
    [0, 'time', '0 s'],
    [1.5, 'time', '1.5 s'],
    [7500, 'frequency', '7.5 kHz'],
    [440, 'frequency', '440 Hz'],
    [1.25, 'voltage', '1.25 V'],
    [0.02, 'voltage', '20 mV'],
    [0.07, 'percent', '7 %'],
    [0.5, 'interval', '50 cents'],
    [-7, 'interval', '-7 st'],
    [4700, 'resistance', '4.7 kohm'],
    [2.2e6, 'resistance', '2.2 Mohm'],
    [92, 'tempo', '92 bpm'],
    [-6, 'decibel', '-6 dB'],
    [0.9, 'number', '0.9'],
    [4, 'count', '4'],
    ['gate', 'choice', 'gate'],
    [true, 'flag', 'true'],
    [{ unit: 'steps', value: 0.5 }, 'span', '50 %'],
    [{ unit: 'seconds', value: 0.008 }, 'span', '8 ms'],
    [{ count: 2, per: 'quarter' }, 'rate', '2 per quarter'],
  ])('%o as %s is %s', (value, type, text) => {
    expect(formatValue(value, type)).toBe(text);
  });

  // 13 digits are written, which is at most 5e-13 off.
  const TOLERANCE = 1e-12;
  const quantities: Quantity[] = [
    'time',
    'frequency',
    'voltage',
    'percent',
    'decibel',
    'tempo',
    'interval',
    'resistance',
    'number',
  ];

  test.each(quantities)('a %s comes back from its text', (type) => {
    const value = fc.double({ min: -1e9, max: 1e9, noNaN: true });
    fc.assert(
      fc.property(value, (x) => {
        const reading = parseValue(formatValue(x, type), spec(type), 'x');
        if (reading.fault) throw new Error(reading.fault.message);
        close(reading.value, x, {
          abs: Math.abs(x) * TOLERANCE + Number.MIN_VALUE,
          unit: '',
          why: 'the digits that are written',
        });
      }),
    );
  });

  test('a rate and a span come back from their text', () => {
    const rate = { type: 'rate', fallback: { count: 1, per: 'step' }, about: '' } as const;
    const span = { type: 'span', fallback: { unit: 'steps', value: 0.5 }, about: '' } as const;
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 96 }),
        fc.constantFrom('quarter', 'step'),
        (count, per) => {
          expect(parseSetting(formatValue({ count, per }, 'rate'), rate, 'x')).toEqual({
            value: { count, per },
          });
        },
      ),
    );
    for (const value of [
      { unit: 'steps', value: 0.35 },
      { unit: 'seconds', value: 0.022 },
    ]) {
      expect(parseSetting(formatValue(value, 'span'), span, 'x')).toEqual({ value });
    }
  });

  test('a row is written as a list of notes, or as tab', () => {
    const row = {
      type: 'row',
      min: 0,
      max: 5,
      shortest: 1,
      longest: 8,
      fallback: [0],
      about: '',
    } as const;
    expect(formatRow([0, 0.5, 1.25], { ...row, unit: 'pitch' })).toBe('[C2, F#2, Eb3]');
    expect(formatRow([1, 0, 0, 1], { ...row, unit: 'gate' })).toBe('x--x');
  });
});
