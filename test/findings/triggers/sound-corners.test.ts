// Findings about levels of sound, and about volts that open and move something, against brute force: the engine plays
// every corner of what a rack states.

import fc from 'fast-check';
import { it } from 'vitest';
import type { Rule } from '../../../src/findings/finding.ts';
import { amplifierNeverOpens } from '../../../src/findings/rules/amplifier-never-opens.ts';
import { amplifierOverdriven } from '../../../src/findings/rules/amplifier-overdriven.ts';
import { clips } from '../../../src/findings/rules/clips.ts';
import { cutoffOutOfRange } from '../../../src/findings/rules/cutoff-out-of-range.ts';
import { tooQuiet } from '../../../src/findings/rules/too-quiet.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { onRack } from '../../electrical/measured.ts';
import { runs } from '../../runs.ts';
import { countOf, expectBoth, type Facts, holds } from './every-corner.ts';

const RULES: readonly Rule[] = [
  amplifierNeverOpens,
  amplifierOverdriven,
  clips,
  cutoffOutOfRange,
  tooQuiet,
];
const NAMES = ['peak', 'sine', 'low', 'bass'] as const;

interface Settings {
  /** V: full scale of the output, and what an envelope that is turned over is taken from. */
  readonly fullScale: number;
  readonly offset: number;
  /** %: how loud the second voice is mixed, and how loud all is. */
  readonly second: number;
  readonly all: number;
}

/** A tone that an envelope opens, its filter moved by it as well; a bass that the same envelope turns down. */
function patchOf({ peak, sine, low, bass }: Facts<(typeof NAMES)[number]>, set: Settings): Patch {
  return onRack(
    `  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], gate: 60 ms, patterns: { a: { hit: "x---x---" } }, song: [a] }
  shape: { kind: envelope, attack: 1 ms, release: 90 ms }
  turn: { kind: attenuator, level: -100 %, offset: ${set.offset} V }
  tone: { kind: oscillator, at-zero: 440 Hz }
  deep: { kind: oscillator, at-zero: 90 Hz }
  bright: { kind: filter, cutoff: 4 kHz, control-amount: 50 % }
  level: { kind: amplifier, response: linear }
  duck: { kind: amplifier, response: linear }
  mix: { kind: mixer, level-1: ${set.all} %, level-2: ${(set.all * set.second) / 100} % }
  out: { kind: output, full-scale: ${set.fullScale} V }`,
    `drums.hit -> shape.trigger, shape.out -> level.control, shape.out -> bright.control, shape.out -> turn.in,
  turn.out -> duck.control, tone.sine -> bright.in, bright.low -> level.in, deep.sine -> duck.in,
  level.out -> mix.in-1, duck.out -> mix.in-2, mix.out -> out.left`,
    `  drums: { kind: rhythm }
  shape: { kind: envelope, jacks: { out: { high: ${peak} } } }
  turn: { kind: attenuator }
  tone: { kind: oscillator, jacks: { sine: { high: ${sine}, low: ${low} } } }
  deep: { kind: oscillator, jacks: { sine: { high: ${bass} } } }
  bright: { kind: filter }
  level: { kind: amplifier, count: 2 }
  mix: { kind: mixer }
  out: { kind: output }`,
  );
}

const share = fc.constantFrom(0, 0.04, 0.15);
const drawn = fc.record({
  values: fc.record({
    peak: fc.constantFrom(0.053, 4, 5.1, 5.8),
    sine: fc.constantFrom(2, 5),
    low: fc.constantFrom(-5, -4.2, -2),
    bass: fc.constantFrom(1, 5),
  }),
  shares: fc.record({ peak: share, sine: share, low: share, bass: share }),
  set: fc.record({
    fullScale: fc.constantFrom(4.6, 4.9, 7.4, 10),
    offset: fc.constantFrom(0.053, 3, 5.2),
    second: fc.constantFrom(4, 8, 100),
    all: fc.constantFrom(12, 100),
  }),
});

/** 5 V through wires of 1 kohm into 100 kohm is under 4.9 V, and 15 % more is not. */
const CLIPPING = {
  values: { peak: 5.1, sine: 5, low: -5, bass: 1 },
  shares: { peak: 0, sine: 0.15, low: 0, bass: 0 },
  set: { fullScale: 4.9, offset: 0.053, second: 4, all: 100 },
};

it('are told where some corner of all, as the engine plays it, has them', () => {
  const told = countOf(RULES);
  fc.assert(
    fc.property(drawn, ({ values, shares, set }) => {
      holds(NAMES, values, shares, (facts) => patchOf(facts, set), told, RULES);
    }),
    { ...runs(24), examples: [[CLIPPING]] },
  );
  expectBoth(told);
});

const CHAINED = ['gate', 'peak', 'moved', 'sine'] as const;

/**
 * A gate that opens an envelope; two wires, one behind the other, that move a filter's cutoff; and a tone that goes
 * through that filter, and through a resonator that the same gate strikes.
 */
function chained(
  { gate, peak, moved, sine }: Facts<(typeof CHAINED)[number]>,
  set: { readonly fullScale: number; readonly cutoff: number; readonly level: number },
): Patch {
  return onRack(
    `  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], gate: 60 ms, patterns: { a: { hit: "x---x---" } }, song: [a] }
  shape: { kind: envelope, attack: 1 ms, release: 90 ms }
  more: { kind: attenuator, level: 100 % }
  tone: { kind: oscillator, at-zero: 440 Hz }
  bright: { kind: filter, cutoff: ${set.cutoff} Hz, control-amount: 100 % }
  head: { kind: resonator, at-zero: 170 Hz, decay: 300 ms }
  mix: { kind: mixer, level-1: ${set.level} %, level-2: ${set.level / 2} % }
  out: { kind: output, full-scale: ${set.fullScale} V }`,
    `drums.hit -> shape.trigger, drums.hit -> head.strike, shape.out -> more.in,
  more.out -> bright.control, tone.sine -> bright.in, bright.low -> mix.in-1, head.out -> mix.in-2, mix.out -> out.left`,
    `  drums: { kind: rhythm, jacks: { hit: { high: ${gate} } } }
  shape: { kind: envelope, jacks: { out: { high: ${peak} } } }
  more: { kind: attenuator, jacks: { out: { resistance: ${moved} } } }
  tone: { kind: oscillator, jacks: { sine: { high: ${sine} } } }
  bright: { kind: filter }
  head: { kind: resonator }
  mix: { kind: mixer }
  out: { kind: output }`,
  );
}

const chainedDrawn = fc.record({
  values: fc.record({
    gate: fc.constantFrom(2.6, 5, 8),
    peak: fc.constantFrom(3, 5),
    moved: fc.constantFrom(1000, 47_000),
    sine: fc.constantFrom(0.4, 3, 5),
  }),
  shares: fc.record({ gate: share, peak: share, moved: share, sine: share }),
  set: fc.record({
    fullScale: fc.constantFrom(4.6, 5, 6.2, 8),
    cutoff: fc.constantFrom(700, 1100),
    level: fc.constantFrom(10, 100),
  }),
});

it('are told so behind wires in a row, a filter and what a gate strikes', () => {
  const rules = [clips, cutoffOutOfRange, tooQuiet];
  const told = countOf(rules);
  fc.assert(
    fc.property(chainedDrawn, ({ values, shares, set }) => {
      holds(CHAINED, values, shares, (facts) => chained(facts, set), told, rules, { moved: 'ohm' });
    }),
    runs(30),
  );
  expectBoth(told);
});

const OPPOSED = ['up', 'down'] as const;

/** Two clocks, one above 0 V and one mostly below, summed where a cutoff or an amplifier follows. */
function opposed(
  { up, down }: Facts<(typeof OPPOSED)[number]>,
  set: { readonly to: 'cutoff' | 'gain'; readonly level: number },
): Patch {
  const [cutoff, into] =
    set.to === 'cutoff' ? [150, 'bright.control, tone.sine -> bright.in'] : [5000, 'gain.control'];
  const sound =
    set.to === 'cutoff' ? 'bright.low -> mix.in-1' : 'tone.sine -> gain.in, gain.out -> mix.in-1';
  return onRack(
    `  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], patterns: { a: { hit: "x---x---" } }, song: [a] }
  snap: { kind: envelope }
  plus: { kind: clock, unit: plus, rate: 4 Hz, duty: 99 % }
  minus: { kind: clock, unit: minus, rate: 4 Hz, duty: 1 % }
  sum: { kind: mixer, unit: sum }
  tone: { kind: oscillator, at-zero: 1 kHz }
  bright: { kind: filter, cutoff: ${cutoff} Hz, control-amount: 100 % }
  gain: { kind: amplifier, response: linear }
  mix: { kind: mixer, unit: sum, level-1: ${set.level} % }
  out: { kind: output }`,
    `drums.hit -> snap.trigger, plus.out -> sum.in-1, minus.out -> sum.in-2, sum.out -> ${into}, ${sound}, mix.out -> out.left`,
    `  drums: { kind: rhythm }
  snap: { kind: envelope }
  plus: { kind: clock, jacks: { out: { high: ${up}, low: 0 V } } }
  minus: { kind: clock, jacks: { out: { high: 0.1 V, low: ${down} } } }
  sum: { kind: mixer, count: 2 }
  tone: { kind: oscillator }
  bright: { kind: filter }
  gain: { kind: amplifier }
  out: { kind: output }`,
  );
}

it('are told so where wires above and below 0 V are summed', () => {
  const told = countOf([tooQuiet]);
  fc.assert(
    fc.property(
      fc.record({ up: fc.constantFrom(3, 4), down: fc.constantFrom(-2, -3) }),
      fc.record({ up: share, down: share }),
      fc.record({
        to: fc.constantFrom<'cutoff' | 'gain'>('cutoff', 'gain'),
        level: fc.constantFrom(70, 82, 100),
      }),
      (values, shares, set) => {
        holds(OPPOSED, values, shares, (facts) => opposed(facts, set), told, [tooQuiet]);
      },
    ),
    // -32.6 LUFS where the one is as low as may be and the other as far below; as low both, -24.3.
    {
      ...runs(12),
      examples: [
        [
          { up: 4, down: -3 },
          { up: 0.15, down: 0.15 },
          { to: 'gain', level: 100 },
        ],
        [
          { up: 4, down: -3 },
          { up: 0.15, down: 0.15 },
          { to: 'cutoff', level: 82 },
        ],
      ],
    },
  );
  expectBoth(told);
});
