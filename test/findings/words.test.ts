// What findings say in numbers: two that are compared differ as printed, and each figure's name ends in its
// unit or in what it counts.

import { readdirSync, readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { inTime } from '../../src/findings/spoken.ts';
import { distinct, inMargin, inOhms, inPercent, inVolts } from '../../src/findings/words.ts';
import { between } from '../circuits/cases.ts';
import { literal, nodesOf } from '../syntax.ts';
import { by, voice } from './voice.ts';

/** A rack with one fact of the envelope's trigger, and with dials. */
const rack = (fact: string): string => `units:
  drums: { kind: rhythm }
  shape: { kind: envelope, jacks: { trigger: { ${fact} } }, dials: { decay: { 0: 10 ms, 10: 2 s } } }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
`;
/** V at the trigger: 5 V from 1 kohm into 100 kohm. */
const DRIVEN = 500 / 101;
/** V; less than is printed. */
const HAIR = 1e-6;

/** Findings that compare two numbers, each a hair past its limit: the rule, the patch, the fact. */
const PAST: readonly (readonly [string, string, string])[] = [
  ['level-too-high', voice(), `safe: ${DRIVEN - HAIR} V`],
  ['level-too-low', voice(), `on: ${DRIVEN + HAIR} V`],
  ['level-marginal', voice(), `on: ${DRIVEN - HAIR} V`],
  ['pulse-too-short', voice({ rhythm: 'gate: 500.1 ms', hit: 'x---' }), 'shortest: 500.2 ms'],
  [
    'clips',
    voice({
      modules: ['still: { kind: attenuator, level: 0 %, offset: 5 V }'],
      sound: ['still.out -> out.left'],
      out: 'full-scale: 4.95 V',
    }),
    '',
  ],
];

// Nobody sets a level, or reads a meter, more finely than to some tenths of a millivolt.
describe('a margin', () => {
  it.each([
    [-1.375e-7, -5.5e-8, 'right at the limit, may not fire'],
    [0, 0, 'right at the limit, may not fire'],
    [9e-5, 3.6e-5, 'right at the limit, may not fire'],
    [0.0002, 0.00008, '0.0002 V (0.008 %)'],
    [-0.4, -0.16, '-0.4 V (-16 %), never fires'],
    [0.4, 0.16, '0.4 V (16 %)'],
  ])('of %d V is a figure that a person can use', (margin, share, words) => {
    expect(inMargin({ margin, share })).toBe(words);
  });
});

describe('two numbers that a finding compares', () => {
  it.each(PAST)('differ as printed by %s', (rule, text, fact) => {
    const named = `rack: own.yaml\n${text}`;
    const [finding] = fact === '' ? by(rule, text) : by(rule, named, { 'own.yaml': rack(fact) });
    const numbers = finding?.message.match(/-?[\d.]+ (m?V|ms)\b/g) ?? [];
    expect(numbers.length, `${finding?.message}`).toBeGreaterThan(1);
    expect(new Set(numbers).size, `${finding?.message}`).toBe(numbers.length);
  });

  it('differ whatever they are, and are as short as they may be', () => {
    for (const as of [inVolts, inTime, inPercent, inOhms])
      fc.assert(
        fc.property(between(0.001, 20), between(-11, 0), (one, size) => {
          const [a, b] = distinct(one, one * (1 + 10 ** size), as);
          expect(a).not.toBe(b);
        }),
      );
    expect(distinct(5.0003, 5, inVolts)).toEqual(['5.0003 V', '5 V']);
    expect(distinct(5, 5, inVolts)).toEqual(['5 V', '5 V']);
    expect(distinct(0.0312, 0.03, inTime)).toEqual(['31.2 ms', '30 ms']);
  });
});

/** Units, and words for what is counted. */
const ENDINGS =
  /(Volts|Seconds|Hertz|Bpm|Db|Dbfs|Lufs|Lu|Share|Samples|Steps|Bars|Hits|Pulses|Clocks|Modules|Cables|Jacks|Resets|PerSecond|PerQuarter)$/;
const ALONE =
  /^(volts|amperes|hits|pulses|clocks|resets|modules|inputs|outputs|plugs|accents|ghosts)$/;
/** Those that are words. */
const WORDS = ['from', 'inputs', 'kind', 'module', 'named', 'nearest', 'per', 'setting', 'slip'];

describe('a figure of a finding', () => {
  it('has a name that ends in its unit, or in what it counts', () => {
    const folder = new URL('../../src/findings/rules/', import.meta.url);
    const names = readdirSync(folder).flatMap((file) => figureNames(file, folder));
    expect(names.length).toBeGreaterThan(100);
    const bare = names.filter((name) => !ENDINGS.test(name) && !ALONE.test(name));
    expect(bare.filter((name) => !WORDS.includes(name))).toEqual([]);
  });

  it('of a dial has the unit of the dial', () => {
    const text = `rack: own.yaml\n${voice({ shape: 'decay: 3 s' })}`;
    const [finding] = by('off-the-dial', text, { 'own.yaml': rack('safe: 12 V') });
    expect(finding?.figures).toMatchObject({ wantedSeconds: 3, endSeconds: 2 });
  });
});

/** The keys of every `figures: {...}` of a file, nested and spread ones too. */
function figureNames(file: string, folder: URL): string[] {
  const text = readFileSync(new URL(file, folder), 'utf8');
  const nodes = [...nodesOf(file, text)].map(({ node }) => node);
  const named = (key: unknown, name: string): boolean =>
    (key as { name?: string } | undefined)?.name === name;
  const spans = nodes
    .filter(({ type, key, id }) =>
      type === 'Property'
        ? named(key, 'figures')
        : type === 'VariableDeclarator' && named(id, 'figures'),
    )
    .map(({ start, end }) => [start, end as number] as const);
  return nodes
    .filter(
      ({ type, key, start }) =>
        type === 'Property' &&
        !named(key, 'figures') &&
        spans.some(([from, to]) => from < start && start < to),
    )
    .flatMap(({ key, computed }) => {
      const own = (key as { name?: string }).name;
      return computed === true ? [] : (own ?? literal(key) ?? []);
    });
}
