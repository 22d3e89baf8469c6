// Tolerances of times along chains of two wires, and between two that race, against brute force: every corner of
// all values that may be off, and the pulses at it by the law of one resistance and capacitance, in real numbers.

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { contextOf } from '../../../src/findings/context.ts';
import type { Rule } from '../../../src/findings/finding.ts';
import { peakNotReached } from '../../../src/findings/rules/peak-not-reached.ts';
import { pulseTooShort } from '../../../src/findings/rules/pulse-too-short.ts';
import { resetRace } from '../../../src/findings/rules/reset-race.ts';
import { slowRise } from '../../../src/findings/rules/slow-rise.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { onRack } from '../../electrical/measured.ts';
import { runs } from '../../runs.ts';
import {
  corners,
  type DrawnWire,
  HITS,
  input,
  isClear,
  type Off,
  off,
  output,
  type Pulse,
  said,
  seen,
  turned,
  type Wire,
  wireDrawn,
} from './brute.ts';

const drawn = fc.record({
  width: off(6, 20, 50),
  first: fc.record(wireDrawn),
  second: fc.record(wireDrawn),
  shortest: off(1, 4),
  /** ms. */
  attack: fc.constantFrom(2, 10, 30),
  through: fc.constantFrom('or', 'not', 'exclusive', 'pulse'),
  tolerance: fc.constantFrom(0, 0, 0, 0, 0.03),
});
type Drawn = typeof drawn extends fc.Arbitrary<infer T> ? T : never;

/** Hits 125 ms apart, of which the first two are neighbours. */
function patchOf({ width, first, second, shortest, attack, through }: Drawn): Patch {
  const [kind, into, out] =
    through === 'pulse' ? ['pulse, length: 20 ms', 'trigger', 'out'] : ['logic', 'a', through];
  return onRack(
    `  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], patterns: { a: { hit: "xx--x---" } }, song: [a] }
  way: { kind: ${kind} }
  shape: { kind: envelope, attack: ${attack} ms }
  out: { kind: output }`,
    `drums.hit -> way.${into}, way.${out} -> shape.trigger, shape.out -> out.left`,
    `  drums: { kind: rhythm, jacks: { hit: { width: ${said(width, 'ms')}, ${output(first)} } } }
  way: { kind: ${kind.split(',')[0]}, jacks: { ${into}: ${input(first, '0 s')}, ${out}: { ${output(second)} } } }
  shape: { kind: envelope, jacks: { trigger: ${input(second, said(shortest, 'ms'))} } }
  out: { kind: output }`,
  );
}

/** What comes of one corner: the least that pulses last over what is asked for, and are held; how late it is. */
function played(given: Drawn, at: (one: Off) => number, kept: () => number) {
  const wireAt = (one: DrawnWire): Wire => ({
    rise: at(one.rise),
    high: at(one.high),
    on: at(one.on),
    off: at(one.off),
    kept: kept(),
  });
  const width = at(given.width) / 1e3;
  const first = seen(
    HITS.map((hit): Pulse => [hit, hit + width]),
    wireAt(given.first),
  );
  const there = first.pulses.filter(([start, end]) => end > start);
  const made = {
    or: there,
    exclusive: there,
    not: turned(there),
    pulse: there.map(([start]): Pulse => [start, start + 0.02]),
  }[given.through];
  const second = seen(made ?? [], wireAt(given.second));
  const shortest = at(given.shortest) / 1e3;
  const lengths = second.pulses.map(([start, end]) => end - start - shortest);
  return {
    isThere: first.pulses.every(([start, end]) => end > start),
    spare: Math.min(...lengths, ...first.pulses.map(([start, end]) => (end > start ? 1 : -1))),
    held: Math.min(...lengths.filter((length) => length >= 0)),
    // What `not` raises waits for no rise.
    late: given.through === 'not' ? [first.late, second.late] : [first.late + second.late],
  };
}

const SAMPLE = 1 / 48_000;
const APART = 0.005;
/** Edges and lengths are rounded to samples at each of two wires. */
const ROUNDED = 7 * SAMPLE;

it('pulses by two wires are too short, late, or end an attack, where some corner of all is', () => {
  const told = { short: 0, late: 0, low: 0 };
  fc.assert(
    fc.property(drawn, (given) => {
      const { width, first, second, shortest, attack, tolerance } = given;
      const all = [width, ...Object.values(first), ...Object.values(second), shortest];
      // Where the level itself may not do, the levels are what is told.
      fc.pre([first, second].every((one) => isClear(one, tolerance)));
      const every = corners(tolerance, all, 2, (at, kept) => played(given, at, kept));
      const nominal = played(
        given,
        ({ value }) => value,
        () => 100 / 101,
      );
      const context = contextOf(patchOf(given), tolerance);
      const isFound = ({ find }: Rule): boolean => find(context).length > 0;
      const worst = Math.min(...every.map(({ spare }) => spare));
      fc.pre([worst, nominal.spare].every((one) => Math.abs(one) > ROUNDED));
      expect(isFound(pulseTooShort)).toBe(worst < 0);
      if (worst < 0) told.short += nominal.spare < 0 ? 0 : 1;
      const lates = every.flatMap(({ late }) => late);
      const latest = Math.max(...lates);
      fc.pre(Math.abs(latest - APART) > 2 * SAMPLE);
      if (nominal.spare < 0) return;
      expect(isFound(slowRise)).toBe(latest >= APART);
      if (latest >= APART) told.late += Math.max(...nominal.late) < APART ? 1 : 0;
      // An RC charge toward 1.5 of the peak is at 0.99 of it after so much of the attack.
      const needed = (attack / 1e3) * (Math.log(1.5 / 0.51) / Math.log(3));
      const least = Math.min(...every.filter(({ isThere }) => isThere).map(({ held }) => held));
      fc.pre(every.every(({ isThere }) => isThere) && Math.abs(least - needed) > ROUNDED);
      expect(isFound(peakNotReached)).toBe(least < needed);
      if (least < needed) told.low += nominal.held < needed ? 0 : 1;
    }),
    runs(100),
  );
  expect(Math.min(told.short, told.late, told.low)).toBeGreaterThan(0);
});

const racing = fc.record({
  clock: fc.record({ ...wireDrawn, shortest: off(0, 1) }),
  reset: fc.record({ ...wireDrawn, shortest: off(0, 1, 3) }),
  /** ms. */
  settle: fc.constantFrom(0.5, 2, 5),
  tolerance: fc.constantFrom(0, 0, 0.03),
});

it('a reset and a clock race where they do at a corner, or come together between two', () => {
  let told = 0;
  fc.assert(
    fc.property(racing, ({ clock, reset, settle, tolerance }) => {
      const one = (name: string, facts: typeof clock): string =>
        `${name}: ${input(facts, said(facts.shortest, 'ms'))}`;
      const patch = onRack(
        `  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit, back], gate: 60 ms, patterns: { a: { hit: "x-x-x-x-", back: "----x---" } }, song: [a] }
  line: { kind: step-sequencer, settle: ${settle} ms }
  out: { kind: output }`,
        'drums.hit -> line.clock, drums.back -> line.reset, line.gate -> out.left',
        `  drums: { kind: rhythm, jacks: { hit: { ${output(clock)} }, back: { ${output(reset)} } } }
  line: { kind: step-sequencer, jacks: { ${one('clock', clock)}, ${one('reset', reset)} } }
  out: { kind: output }`,
      );
      const gapOf = (at: (one: Off) => number, kept: () => number): number => {
        const [first, second] = [clock, reset].map(({ shortest, ...facts }) => {
          const { rise, high, on, off: low } = facts;
          const wire = { rise: at(rise), high: at(high), on: at(on), off: at(low), kept: kept() };
          return seen([[0, 0.06]], wire).late + at(shortest) / 1e3;
        });
        return (second as number) - (first as number);
      };
      const all = [...Object.values(clock), ...Object.values(reset)];
      const gaps = corners(tolerance, all, 2, gapOf);
      const least = Math.max(0, Math.min(...gaps), -Math.max(...gaps));
      fc.pre(Math.abs(least - settle / 1e3) > 6 * SAMPLE && gaps.every(Number.isFinite));
      const found = resetRace.find(contextOf(patch, tolerance)).length > 0;
      expect(found).toBe(least < settle / 1e3);
      const nominal = gapOf(
        ({ value }) => value,
        () => 100 / 101,
      );
      if (found && Math.abs(nominal) > settle / 1e3 + 6 * SAMPLE) told += 1;
    }),
    runs(60),
  );
  expect(told).toBeGreaterThan(0);
});

it('a pulse that only a rehearsal tells is played at the corners too', () => {
  const shortIn = (width: string, tolerance = 0) => {
    const patch = onRack(
      `  drums: { kind: rhythm, channels: [hit], patterns: { a: { hit: "x---" } }, song: [a] }
  level: { kind: attenuator, level: 100 % }
  last: { kind: pulse }
  out: { kind: output }`,
      'drums.hit -> level.in, level.out -> last.trigger, last.out -> out.left',
      `  drums: { kind: rhythm, jacks: { hit: { width: ${width} } } }
  level: { kind: attenuator }
  last: { kind: pulse, jacks: { trigger: { shortest: 1 ms } } }
  out: { kind: output }`,
    );
    return pulseTooShort.find(contextOf(patch, tolerance)).map(({ severity }) => severity);
  };
  // 1.1 ms less 15 % is under 1 ms, 1.2 ms is not; the tolerance asked for moves both ends.
  expect(shortIn('1.1 ms +- 15 %')).toEqual(['caution']);
  expect(shortIn('1.2 ms +- 15 %')).toEqual([]);
  expect(shortIn('1.1 ms')).toEqual([]);
  expect(shortIn('1.1 ms', 0.07)).toEqual(['caution']);
});

it('what is below a threshold is short where what comes in is long', () => {
  // Hits 125 ms apart: 25 ms between two gates of 100 ms, and 10 ms between two of 115 ms.
  const shortBy = (output: string, width: string, shortest: string) => {
    const patch = onRack(
      `  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], patterns: { a: { hit: "xx------" } }, song: [a] }
  high: { kind: comparator, threshold: 1 V }
  last: { kind: pulse }
  out: { kind: output }`,
      `drums.hit -> high.in, high.${output} -> last.trigger, last.out -> out.left`,
      `  drums: { kind: rhythm, jacks: { hit: { width: ${width} } } }
  high: { kind: comparator }
  last: { kind: pulse, jacks: { trigger: { shortest: ${shortest} } } }
  out: { kind: output }`,
    );
    return pulseTooShort.find(contextOf(patch)).map(({ severity }) => severity);
  };
  expect(shortBy('below', '100 ms +- 15 %', '12 ms')).toEqual(['caution']);
  expect(shortBy('below', '100 ms +- 15 %', '9 ms')).toEqual([]);
  expect(shortBy('above', '100 ms +- 15 %', '90 ms')).toEqual(['caution']);
  expect(shortBy('above', '100 ms +- 15 %', '80 ms')).toEqual([]);
});
