// Tolerances of times along chains of wires, against brute force: see `brute.ts`.

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { contextOf } from '../../../src/findings/context.ts';
import type { Rule } from '../../../src/findings/finding.ts';
import { pulseTooShort } from '../../../src/findings/rules/pulse-too-short.ts';
import { slowRise } from '../../../src/findings/rules/slow-rise.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { onRack } from '../../electrical/measured.ts';
import { runs } from '../../runs.ts';
import {
  corners,
  HITS,
  input,
  isClear,
  type Off,
  output,
  type Pulse,
  said,
  seen,
  turned,
} from './brute.ts';

/** A value that is off, or not, with these weights. */
const offAtTimes = (exact: number, ...values: readonly number[]): fc.Arbitrary<Off> =>
  fc.record({
    value: fc.constantFrom(...values),
    by: fc.oneof(
      { weight: exact, arbitrary: fc.constant(undefined) },
      { weight: 4, arbitrary: fc.constantFrom(0.04, 0.15, 0.3) },
    ),
  });
const drawn = fc.record({
  width: offAtTimes(60, 6, 20, 50),
  links: fc.array(
    fc.record({
      rise: offAtTimes(1, 1, 3, 6, 14),
      high: offAtTimes(60, 5, 8),
      on: offAtTimes(60, 1.8, 2.5, 3),
      off: offAtTimes(60, 0.6, 1.2),
      through: fc.constantFrom('or', 'or', 'or', 'not'),
    }),
    { minLength: 2, maxLength: 4, size: 'max' },
  ),
  shortest: offAtTimes(60, 1, 4),
});
type Drawn = typeof drawn extends fc.Arbitrary<infer T> ? T : never;

/** A rhythm's hits through logic modules, one after the other, into an envelope. */
function patchOf({ width, links, shortest }: Drawn): Patch {
  const ways = links.slice(1).map((_, i) => `way-${i}`);
  const from = ['drums.hit', ...ways.map((way, i) => `${way}.${links[i]?.through}`)];
  const to = [...ways.map((way) => `${way}.a`), 'shape.trigger'];
  const [first] = links as [Drawn['links'][number]];
  return onRack(
    `  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], patterns: { a: { hit: "xx--x---" } }, song: [a] }
${ways.map((way) => `  ${way}: { kind: logic, unit: ${way} }`).join('\n')}
  shape: { kind: envelope }
  out: { kind: output }`,
    `${from.map((output, i) => `${output} -> ${to[i]}`).join(', ')}, shape.out -> out.left`,
    `  drums: { kind: rhythm, jacks: { hit: { width: ${said(width, 'ms')}, ${output(first)} } } }
${ways
  .map((way, i) => {
    const [one, next] = links.slice(i) as [Drawn['links'][number], Drawn['links'][number]];
    return `  ${way}: { kind: logic, jacks: { a: ${input(one, '0 s')}, ${one.through}: { ${output(next)} } } }`;
  })
  .join('\n')}
  shape: { kind: envelope, jacks: { trigger: ${input(links.at(-1) as Drawn['links'][number], said(shortest, 'ms'))} } }
  out: { kind: output }`,
  );
}

/** What comes of one corner: the least that pulses last over what is asked for, and how late an input goes on. */
function played({ width, links, shortest }: Drawn, at: (one: Off) => number) {
  let pulses: readonly Pulse[] = HITS.map((hit) => [hit, hit + at(width) / 1e3]);
  let spare = Number.POSITIVE_INFINITY;
  let nearest = Number.POSITIVE_INFINITY;
  let late = 0;
  let latest = 0;
  links.forEach(({ through, ...facts }, i) => {
    const { rise, high, on, off: low } = facts;
    const wire = { rise: at(rise), high: at(high), on: at(on), off: at(low), kept: 100 / 101 };
    const one = seen(pulses, wire);
    late += one.late;
    latest = Math.max(latest, late);
    nearest = Math.min(nearest, one.nearest);
    const asked = i === links.length - 1 ? at(shortest) / 1e3 : Number.NEGATIVE_INFINITY;
    const lengths = one.pulses.map(([start, end]) => (end > start ? end - start - asked : -1));
    spare = Math.min(spare, ...lengths);
    const there = one.pulses.filter(([start, end]) => end > start);
    pulses = through === 'not' ? turned(there) : there;
    // What it raises waits for no rise.
    if (through === 'not') late = 0;
  });
  return { spare, nearest, latest };
}

const SAMPLE = 1 / 48_000;
const APART = 0.005;

it('pulses by chains of wires are too short, or late in all, where some corner of all is', () => {
  const told = { short: 0, late: 0 };
  fc.assert(
    fc.property(drawn, (given) => {
      const { width, links, shortest } = given;
      const all = [
        width,
        shortest,
        ...links.flatMap(({ through: _, ...facts }) => Object.values(facts)),
      ];
      fc.pre(links.every((one) => isClear(one, 0)));
      fc.pre(all.filter(({ by }) => by !== undefined).length <= 5);
      const every = corners(0, all, 0, (at) => played(given, at));
      const nominal = played(given, ({ value }) => value);
      const context = contextOf(patchOf(given));
      const isFound = ({ find }: Rule): boolean => find(context).length > 0;
      const worst = Math.min(...every.map(({ spare }) => spare));
      // Edges and lengths are rounded to samples at each wire.
      const rounded = (3 * links.length + 1) * SAMPLE;
      const near = [worst, nominal.spare, ...every.map(({ nearest }) => nearest)];
      fc.pre(near.every((one) => Math.abs(one) > rounded));
      expect(isFound(pulseTooShort)).toBe(worst < 0);
      if (worst < 0 && nominal.spare > 0) told.short += 1;
      const latest = Math.max(...every.map((one) => one.latest));
      fc.pre(Math.abs(latest - APART) > 2 * SAMPLE && nominal.spare > 0);
      expect(isFound(slowRise)).toBe(latest >= APART);
      if (latest >= APART && nominal.latest < APART) told.late += 1;
    }),
    runs(100),
  );
  expect(Math.min(told.short, told.late)).toBeGreaterThan(0);
});

it('a pulse that is the shorter, the quicker each of eight wires is, is so from the first on', () => {
  const exact = (value: number): Off => ({ value, by: undefined });
  const link = {
    rise: { value: 3, by: 0.3 },
    high: exact(8),
    on: exact(1.8),
    off: exact(0.6),
    through: 'or' as const,
  };
  const lasting = (shortest: number): Drawn => ({
    width: exact(20),
    links: Array.from({ length: 8 }, () => link),
    shortest: exact(shortest),
  });
  const all = lasting(0).links.map(({ rise }) => ({ ...rise }));
  const given = lasting(0);
  const own = { ...given, links: given.links.map((one, i) => ({ ...one, rise: all[i] as Off })) };
  const least = Math.min(...corners(0, all, 0, (at) => played(own, at)).map(({ spare }) => spare));
  const found = (shortest: number) =>
    pulseTooShort.find(contextOf(patchOf(lasting(shortest)))).map(({ severity }) => severity);
  // Edges are rounded to samples at each of eight wires.
  expect(found(1e3 * (least + 24 * SAMPLE))).toEqual(['caution']);
  expect(found(1e3 * (least - 24 * SAMPLE))).toEqual([]);
});
