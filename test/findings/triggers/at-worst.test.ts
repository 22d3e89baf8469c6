// Tolerances that a rack states of widths, rises and thresholds, against brute force: every corner of each, and
// the pulses at it by the law of one resistance and capacitance, in real numbers.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { check } from '../../../src/findings/check.ts';
import { contextOf } from '../../../src/findings/context.ts';
import type { Rule } from '../../../src/findings/finding.ts';
import { gatesMerge } from '../../../src/findings/rules/gates-merge.ts';
import { pulseTooShort } from '../../../src/findings/rules/pulse-too-short.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { onRack } from '../../electrical/measured.ts';
import { runs } from '../../runs.ts';

interface Off {
  readonly value: number;
  readonly by: number;
}

/** A value that may be off by a share of it, or is exact. */
const off = (...values: readonly number[]): fc.Arbitrary<Off> =>
  fc
    .tuple(fc.constantFrom(...values), fc.constantFrom(0, 0, 0.03, 0.1, 0.25))
    .map(([value, share]) => ({ value, by: value * share }));

const drawn = fc.record({
  /** ms. */
  width: off(2, 5, 40, 90, 118),
  rise: off(0, 0.5, 3, 12),
  shortest: off(1, 2, 4),
  /** V. */
  high: off(4, 5, 8),
  on: off(1.8, 2.5, 3.4),
  low: off(0.6, 1.2),
  /** What the pulses go through on their way. */
  through: fc.constantFrom<keyof typeof WAYS>('', 'converters', 'logic'),
});
type Drawn = typeof drawn extends fc.Arbitrary<infer T> ? T : never;

const ms = ({ value, by }: Off): string => `${value} ms${by > 0 ? ` +- ${by.toFixed(6)} ms` : ''}`;
const volts = ({ value, by }: Off): string => `${value} V${by > 0 ? ` +- ${by.toFixed(6)} V` : ''}`;

/** How the pulses come to the last input: which module has the first input, what else there is, and the cables. */
const WAYS = {
  '': { unit: 'last', modules: [], cables: ['drums.hit -> last.trigger'] },
  converters: {
    unit: 'there',
    modules: [
      'there: { kind: trigger-converter, unit: there }',
      'back: { kind: trigger-converter }',
    ],
    cables: [
      'drums.hit -> there.voltage-in',
      'there.switch-out -> back.switch-in',
      'back.voltage-out -> last.trigger',
    ],
  },
  logic: {
    unit: 'both',
    modules: ['both: { kind: logic }'],
    cables: ['drums.hit -> both.a', 'both.or -> last.trigger'],
  },
};

/** Hits 125 ms apart, of which the first two are neighbours. */
function patchOf({ width, rise, shortest, high, on, low, through }: Drawn): Patch {
  const { unit, modules, cables } = WAYS[through];
  const edge = rise.value > 0 ? `, rise: ${ms(rise)}` : '';
  const asked = `on: ${volts(on)}, off: ${volts(low)}`;
  const facts = (own: string): string =>
    [...(own === unit ? [asked] : []), `shortest: ${own === 'last' ? ms(shortest) : '0 s'}`].join(
      ', ',
    );
  const units = [
    `drums: { kind: rhythm, jacks: { hit: { high: ${volts(high)}, width: ${ms(width)}${edge} } } }`,
    `last: { kind: pulse, jacks: { trigger: { ${facts('last')} } } }`,
    `both: { kind: logic, jacks: { a: { ${facts('both')} } } }`,
    `there: { kind: trigger-converter, jacks: { voltage-in: { ${facts('there')} } } }`,
    'back: { kind: trigger-converter }',
    'out: { kind: output }',
  ];
  const all = [
    'drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], patterns: { a: { hit: "xx--x---" } }, song: [a] }',
    ...modules,
    'last: { kind: pulse }',
    'out: { kind: output }',
  ];
  const lines = (texts: readonly string[]): string => texts.map((text) => `  ${text}`).join('\n');
  return onRack(lines(all), [...cables, 'last.out -> out.left'].join(', '), lines(units));
}

/** s from threshold to threshold at one corner, and s until the next edge; both in real numbers. */
function atCorner(given: Drawn, sign: (index: number) => number) {
  const at = ({ value, by }: Off, index: number): number => value + sign(index) * by;
  const [width, rise, shortest] = [
    at(given.width, 0) / 1e3,
    at(given.rise, 1) / 1e3,
    at(given.shortest, 2) / 1e3,
  ];
  const step = (at(given.high, 3) * 100) / 101;
  const [on, low] = [at(given.on, 4) / step, at(given.low, 5) / step];
  const tau = rise / Math.log(9);
  const top = tau === 0 ? 1 : 1 - Math.exp(-width / tau);
  const up = tau === 0 ? 0 : -tau * Math.log(1 - on);
  const down = tau === 0 ? 0 : tau * Math.log(top / low);
  return { fires: on < 1, length: top > on ? width - up + down : 0, end: width + down, shortest };
}

describe('pulses at the worst of what a rack states', () => {
  it('are too short, or run into each other, where some corner of all is', () => {
    const told = { short: 0, merged: 0 };
    fc.assert(
      fc.property(drawn, (given) => {
        const corners = Array.from({ length: 64 }, (_, bits) =>
          atCorner(given, (index) => ((bits >> index) & 1 ? 1 : -1)),
        );
        const nominal = atCorner(given, () => 0);
        // Where the level itself may not do, the levels are what is told.
        fc.pre(corners.every(({ fires }) => fires));
        const context = contextOf(patchOf(given));
        const isFound = ({ find }: Rule): boolean => find(context).length > 0;
        const spare = (one: typeof nominal): number => one.length - one.shortest;
        const apart = (one: typeof nominal): number => 0.125 - one.end;
        const worst = Math.min(...corners.map(spare));
        const nearest = Math.min(...corners.map(apart));
        // Both edges, the width and what is needed are rounded to samples.
        const sample = 3.5 / 48_000;
        fc.pre(Math.abs(worst) > sample && Math.abs(nearest) > sample);
        fc.pre(Math.abs(spare(nominal)) > sample && Math.abs(apart(nominal)) > sample);
        expect(isFound(pulseTooShort)).toBe(worst < 0);
        // A pulse that never comes cannot run into another.
        if (worst > 0) expect(isFound(gatesMerge)).toBe(nearest < 0);
        if (worst < 0 && spare(nominal) > 0) told.short += 1;
        if (nearest < 0 && apart(nominal) > 0) told.merged += 1;
      }),
      runs(40),
    );
    expect(Math.min(told.short, told.merged)).toBeGreaterThan(0);
  });
});

it('a pulse that never fires is told beside a level that has little to spare', () => {
  const exact = (value: number): Off => ({ value, by: 0 });
  const patch = patchOf({
    width: exact(2),
    rise: exact(0),
    shortest: exact(4),
    high: exact(4),
    on: exact(3.4),
    low: exact(0.6),
    through: '',
  });
  expect(check(patch).map(({ rule, severity }) => `${rule} ${severity}`)).toEqual([
    'pulse-too-short fault',
    'level-marginal caution',
    'signal-mismatch caution',
  ]);
});
