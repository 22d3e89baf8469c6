// Gates that merge behind a comparator, in paths that turn them over, at every corner of what a rack states, against
// the engine: it plays each corner.

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { contextOf, pulseContextOf } from '../../../src/findings/context.ts';
import { gatesMerge } from '../../../src/findings/rules/gates-merge.ts';
import { pulseTooShort } from '../../../src/findings/rules/pulse-too-short.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { onRack } from '../../electrical/measured.ts';
import { runs } from '../../runs.ts';

const NAMES = ['width', 'rise', 'high'] as const;
type Facts = Readonly<Record<(typeof NAMES)[number], string>>;
const UNITS = { width: 'ms', rise: 'ms', high: 'V' };

/** Ways from a gate to a trigger that leave it upright: turned over never, once and back, and twice. */
const WAYS = {
  compared: [
    'high: { kind: comparator, threshold: 1.5 V }',
    'drums.hit -> high.in, high.above -> last.trigger',
  ],
  scaled: [
    'half: { kind: attenuator, level: 80 % }\n  high: { kind: comparator, threshold: 1.5 V }',
    'drums.hit -> half.in, half.out -> high.in, high.above -> last.trigger',
  ],
  turned: [
    'turn: { kind: attenuator, level: -100 %, offset: 5 V }\n  high: { kind: comparator, threshold: 2.5 V }',
    'drums.hit -> turn.in, turn.out -> high.in, high.below -> last.trigger',
  ],
  twice: [
    'turn: { kind: attenuator, level: -100 %, offset: 5 V }\n  back: { kind: attenuator, level: -100 %, offset: 5 V }',
    'drums.hit -> turn.in, turn.out -> back.in, back.out -> last.trigger',
  ],
} as const;
type WayName = keyof typeof WAYS;

/** Hits 125 ms apart, of which the first two are neighbours. */
function patchOf({ width, rise, high }: Facts, way: WayName, shortest: number): Patch {
  const [modules, cables] = WAYS[way];
  return onRack(
    `  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], patterns: { a: { hit: "xx--x---" } }, song: [a] }
  ${modules}
  last: { kind: pulse, length: 5 ms }
  out: { kind: output }`,
    `${cables}, last.out -> out.left`,
    `  drums: { kind: rhythm, jacks: { hit: { width: ${width}, rise: ${rise}, high: ${high} } } }
  last: { kind: pulse, jacks: { trigger: { shortest: ${shortest} ms } } }
  out: { kind: output }
  cmp: { kind: comparator }
  att: { kind: attenuator, count: 2 }`,
  );
}

const share = fc.constantFrom(0, 0.06, 0.2);
const drawn = fc.record({
  way: fc.constantFrom(...(Object.keys(WAYS) as WayName[])),
  values: fc.record({
    width: fc.constantFrom(3, 20, 105, 118),
    rise: fc.constantFrom(0.2, 2, 5),
    high: fc.constantFrom(4.5, 5),
  }),
  shares: fc.record({ width: share, rise: share, high: share }),
  shortest: fc.constantFrom(1, 2.5),
});

describe('behind comparators and attenuators', () => {
  it('gates merge, or are too short, where they do or are at some corner', () => {
    const told = { merge: 0, short: 0, never: 0 };
    fc.assert(
      fc.property(drawn, ({ way, values, shares, shortest }) => {
        const factsAt = (write: (name: (typeof NAMES)[number]) => string): Facts =>
          Object.fromEntries(NAMES.map((name) => [name, write(name)])) as unknown as Facts;
        const off = NAMES.filter((name) => shares[name] > 0);
        const foundIn = (facts: Facts, contextAt: typeof contextOf) => {
          const context = contextAt(patchOf(facts, way, shortest));
          return [gatesMerge, pulseTooShort].map(({ find }) => find(context).length > 0);
        };
        // What one corner has need not be looked for at the others. Only pulses are looked at.
        const atSome = [false, false];
        for (let bits = 0; bits < 2 ** off.length && atSome.includes(false); bits++) {
          const at = factsAt((name) => {
            const i = off.indexOf(name);
            const sign = i < 0 ? 0 : (bits >> i) & 1 ? 1 : -1;
            return `${(values[name] * (1 + sign * shares[name])).toFixed(6)} ${UNITS[name]}`;
          });
          foundIn(at, pulseContextOf).forEach((isFound, rule) => {
            atSome[rule] ||= isFound;
          });
        }
        const stated = factsAt((name) => {
          const by = shares[name] > 0 ? ` +- ${100 * shares[name]} %` : '';
          return `${values[name]} ${UNITS[name]}${by}`;
        });
        const nominal = foundIn(
          factsAt((name) => `${values[name]} ${UNITS[name]}`),
          pulseContextOf,
        );
        const [merge, short] = foundIn(stated, contextOf);
        expect({ merge, short }).toEqual({ merge: atSome[0], short: atSome[1] });
        if (merge && !nominal[0]) told.merge += 1;
        if (short && !nominal[1]) told.short += 1;
        if (!merge && !short) told.never += 1;
      }),
      runs(40),
    );
    expect(Math.min(...Object.values(told))).toBeGreaterThan(0);
  });
});
