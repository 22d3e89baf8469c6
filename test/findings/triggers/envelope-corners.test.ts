// What envelopes make of gates whose length and edges are in doubt, and what inputs take of a voltage, against brute
// force: every corner of what a rack states.

import fc from 'fast-check';
import { it } from 'vitest';
import { decayCutShort } from '../../../src/findings/rules/decay-cut-short.ts';
import { loadedDown } from '../../../src/findings/rules/loaded-down.ts';
import { peakNotReached } from '../../../src/findings/rules/peak-not-reached.ts';
import { tailCut } from '../../../src/findings/rules/tail-cut.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { onRack } from '../../electrical/measured.ts';
import { runs } from '../../runs.ts';
import { countOf, expectBoth, type Facts, holds } from './every-corner.ts';

const share = fc.constantFrom(0, 0.04, 0.15);

const ONLY_WIDTH = { width: 0.15, rise: 0, shortest: 0 };
const GATE = ['width', 'rise', 'shortest'] as const;

interface Shape {
  readonly attack: number;
  readonly decay: number;
  readonly release: number;
}

/** A gate that holds an envelope, which opens an amplifier: hits are a quarter of a second apart, or an eighth. */
function shaped({ width, rise, shortest }: Facts<(typeof GATE)[number]>, set: Shape): Patch {
  return onRack(
    `  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], patterns: { a: { hit: "x-x-xx--" } }, song: [a] }
  shape: { kind: envelope, mode: gate, attack: ${set.attack} ms, decay: ${set.decay} ms, sustain: 0 %, release: ${set.release} ms }
  tone: { kind: oscillator }
  level: { kind: amplifier, response: linear }
  out: { kind: output }`,
    'drums.hit -> shape.trigger, shape.out -> level.control, tone.sine -> level.in, level.out -> out.left',
    `  drums: { kind: rhythm, jacks: { hit: { width: ${width}, rise: ${rise} } } }
  shape: { kind: envelope, jacks: { trigger: { shortest: ${shortest} } } }
  tone: { kind: oscillator }
  level: { kind: amplifier }
  out: { kind: output }`,
  );
}

/** 61 ms of a time constant of 80 ms and 63 ms of one of 40 ms are 20.3 dB; with a gate of 71 ms they are 19.4 dB. */
const TAIL: [Record<'width' | 'rise' | 'shortest', number>, typeof ONLY_WIDTH, Shape] = [
  { width: 62, rise: 0.5, shortest: 0.5 },
  ONLY_WIDTH,
  { attack: 1, decay: 400, release: 200 },
];

it('an envelope is cut short, or off, or never at its peak, where it is so at some corner', () => {
  const rules = [decayCutShort, peakNotReached, tailCut];
  const told = countOf(rules);
  fc.assert(
    fc.property(
      fc.record({
        width: fc.constantFrom(20, 62),
        rise: fc.constantFrom(0.5, 6),
        shortest: fc.constantFrom(0.5, 4),
      }),
      fc.record({ width: share, rise: share, shortest: share }),
      fc.record({
        attack: fc.constantFrom(1, 14, 19, 57),
        decay: fc.constantFrom(16, 55, 140, 400),
        release: fc.constantFrom(16, 90, 140, 200),
      }),
      (values, shares, set) => {
        const units = { width: 'ms', rise: 'ms', shortest: 'ms' };
        holds(GATE, values, shares, (facts) => shaped(facts, set), told, rules, units);
      },
    ),
    { ...runs(60), examples: [TAIL] },
  );
  expectBoth(told);
});

const OHMS = ['out', 'one', 'two'] as const;

it('an output is loaded down where it is so at some corner', () => {
  const told = countOf([loadedDown]);
  fc.assert(
    fc.property(
      fc.record({
        out: fc.constantFrom(1000, 4700, 5200, 9000),
        one: fc.constantFrom(82_000, 100_000),
        two: fc.constantFrom(100_000),
      }),
      fc.record({ out: share, one: share, two: share }),
      (values, shares) => {
        const patch = ({ out, one, two }: Facts<(typeof OHMS)[number]>): Patch =>
          onRack(
            `  tone: { kind: oscillator }
  mix: { kind: mixer }
  bend: { kind: attenuator }
  out: { kind: output }`,
            'tone.sine -> mix.in-1, tone.sine -> bend.in, mix.out -> out.left, bend.out -> out.right',
            `  tone: { kind: oscillator, jacks: { sine: { resistance: ${out} } } }
  mix: { kind: mixer, jacks: { in-1: { resistance: ${one} } } }
  bend: { kind: attenuator, jacks: { in: { resistance: ${two} } } }
  out: { kind: output }`,
          );
        const units = { out: 'ohm', one: 'ohm', two: 'ohm' };
        holds(OHMS, values, shares, patch, told, [loadedDown], units);
      },
    ),
    runs(60),
  );
  expectBoth(told);
});
