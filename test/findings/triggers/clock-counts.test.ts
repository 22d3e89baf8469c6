// Where a tolerance that a rack states changes how many clocks a sequencer counts, against the engine itself: it
// plays every corner of all values that may be off.

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { trace } from '../../../src/engine/trace.ts';
import { check } from '../../../src/findings/check.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { onRack } from '../../electrical/measured.ts';
import { runs } from '../../runs.ts';

const NAMES = ['width', 'rise', 'high', 'shortest'] as const;
type Facts = Readonly<Record<(typeof NAMES)[number], string>>;
const UNITS = { width: 'ms', rise: 'ms', high: 'V', shortest: 'ms' };

/** Clocks 125 ms apart, of which two are neighbours, straight or through logic into a sequencer. */
const patchOf = ({ width, rise, high, shortest }: Facts, isThrough: boolean): Patch =>
  onRack(
    `  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], patterns: { a: { hit: "xx--x---" } }, song: [a] }
  line: { kind: step-sequencer, gates: "xxxx" }
${isThrough ? '  either: { kind: logic }\n' : ''}  out: { kind: output }`,
    `${isThrough ? 'drums.hit -> either.a, either.or -> line.clock' : 'drums.hit -> line.clock'}, line.gate -> out.left`,
    `  drums: { kind: rhythm, jacks: { hit: { width: ${width}, rise: ${rise}, high: ${high} } } }
  line: { kind: step-sequencer, jacks: { clock: { shortest: ${shortest} } } }
  either: { kind: logic }
  out: { kind: output }`,
  );

/** How many clocks the sequencer counts in the song, as the engine plays it. */
function counted(patch: Patch): number {
  let steps = 0;
  for (const { edge } of trace(patch, { sampleRate: 48_000, seconds: 1 }))
    if (edge === 'step') steps += 1;
  return steps;
}

it('a clock that some corner counts and another does not is told, and no other', () => {
  const told = { perhaps: 0, never: 0 };
  const share = fc.constantFrom(0, 0.06, 0.2);
  const drawn = fc.record({
    isThrough: fc.boolean(),
    values: fc.record({
      width: fc.constantFrom(3, 5, 60, 112),
      rise: fc.constantFrom(0.5, 2, 6),
      high: fc.constantFrom(4.5, 8),
      shortest: fc.constantFrom(1, 2.5, 4),
    }),
    shares: fc.record({ width: share, rise: share, high: share, shortest: share }),
  });
  fc.assert(
    fc.property(drawn, ({ isThrough, values, shares }) => {
      const factsAt = (write: (name: (typeof NAMES)[number]) => string): Facts =>
        Object.fromEntries(NAMES.map((name) => [name, `${write(name)}`])) as unknown as Facts;
      const off = NAMES.filter((name) => shares[name] > 0);
      const counts = Array.from({ length: 2 ** off.length }, (_, bits) => {
        const facts = factsAt((name) => {
          const i = off.indexOf(name);
          const sign = i < 0 ? 0 : (bits >> i) & 1 ? 1 : -1;
          return `${(values[name] * (1 + sign * shares[name])).toFixed(6)} ${UNITS[name]}`;
        });
        return counted(patchOf(facts, isThrough));
      });
      const stated = factsAt((name) => {
        const doubt = shares[name] > 0 ? ` +- ${100 * shares[name]} %` : '';
        return `${values[name]} ${UNITS[name]}${doubt}`;
      });
      const rules = check(patchOf(stated, isThrough)).filter(
        ({ rule }) => rule === 'pulse-too-short' || rule === 'gates-merge',
      );
      // Three clocks are sent.
      const isCounted = counts.every((count) => count === 3);
      expect(rules.length > 0).toBe(!isCounted);
      if (isCounted) told.never += 1;
      else if (counts.includes(3)) told.perhaps += 1;
    }),
    runs(10),
  );
  expect(Math.min(told.perhaps, told.never)).toBeGreaterThan(0);
});
