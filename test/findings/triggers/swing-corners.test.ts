// Swing of a rhythm that follows a clock by slow edges, against brute force: what is told of every corner of what a
// rack states.

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { contextOf } from '../../../src/findings/context.ts';
import { swingMismatch } from '../../../src/findings/rules/swing-mismatch.ts';
import { onRack } from '../../electrical/measured.ts';
import { runs } from '../../runs.ts';

const NAMES = ['rise', 'high', 'width', 'on'] as const;
const UNITS = { rise: 'ms', high: 'V', width: 'ms', on: 'V' };
type Facts = Readonly<Record<(typeof NAMES)[number], string>>;

/** A clock that swings, through a follower that does not: what is left of a pulse at the next makes that early. */
const isFound = ({ rise, high, width, on }: Facts, swing: number): boolean => {
  const patch = onRack(
    `  drums: { kind: rhythm, unit: drums, tempo: 120 bpm, channels: [hit], swing: ${swing} %, clock: 1 per step, patterns: { a: { hit: "xxxxxxxx" } }, song: [a] }
  hats: { kind: rhythm, unit: hats, channels: [tick], follows: 1 per step, patterns: { a: { tick: "xxxxxxxx" } }, song: [a] }
  snap: { kind: envelope }
  out: { kind: output }`,
    'drums.clock -> hats.clock-in, drums.hit -> snap.trigger, hats.tick -> out.right, snap.out -> out.left',
    `  drums: { kind: rhythm, jacks: { clock: { rise: ${rise}, high: ${high}, width: ${width} } } }
  hats: { kind: rhythm, jacks: { clock-in: { on: ${on}, off: 2 V, shortest: 0 s } } }
  snap: { kind: envelope }
  out: { kind: output }`,
  );
  return swingMismatch.find(contextOf(patch)).length > 0;
};

it('is told at the worst of the tolerances where it is at some corner, and nowhere else', () => {
  const told = { perhaps: 0, sure: 0, never: 0 };
  const share = fc.constantFrom(0, 0.03, 0.1);
  const drawn = fc.record({
    swing: fc.constantFrom(52, 60, 64),
    values: fc.record({
      rise: fc.constantFrom(1, 36, 42, 50),
      high: fc.constantFrom(5, 5.5),
      width: fc.constantFrom(50, 60),
      on: fc.constantFrom(3, 3.7),
    }),
    shares: fc.record({ rise: share, high: share, width: share, on: share }),
  });
  fc.assert(
    fc.property(drawn, ({ swing, values, shares }) => {
      const factsAt = (write: (name: (typeof NAMES)[number]) => string): Facts =>
        Object.fromEntries(NAMES.map((name) => [name, write(name)])) as unknown as Facts;
      const off = NAMES.filter((name) => shares[name] > 0);
      // Asked corner by corner: at the first that has it, the others need not be.
      const isAt = (bits: number): boolean =>
        isFound(
          factsAt((name) => {
            const i = off.indexOf(name);
            const sign = i < 0 ? 0 : (bits >> i) & 1 ? 1 : -1;
            return `${(values[name] * (1 + sign * shares[name])).toFixed(6)} ${UNITS[name]}`;
          }),
          swing,
        );
      const nominal = isFound(
        factsAt((name) => `${values[name]} ${UNITS[name]}`),
        swing,
      );
      const stated = isFound(
        factsAt(
          (name) =>
            `${values[name]} ${UNITS[name]}${shares[name] > 0 ? ` +- ${100 * shares[name]} %` : ''}`,
        ),
        swing,
      );
      const corners = Array.from({ length: 2 ** off.length }, (_, bits) => bits);
      expect(stated).toBe(nominal || corners.some(isAt));
      told[nominal ? 'sure' : stated ? 'perhaps' : 'never'] += 1;
    }),
    runs(40),
  );
  expect(Math.min(...Object.values(told)), JSON.stringify(told)).toBeGreaterThan(0);
});
