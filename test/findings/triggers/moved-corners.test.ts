// Loops that grow, delay lines that are moved too far and ghost strokes that are shut, against brute force: the engine
// plays every corner of what a rack states.

import fc from 'fast-check';
import { it } from 'vitest';
import { ghostSilent } from '../../../src/findings/rules/ghost-silent.ts';
import { loopUnstable } from '../../../src/findings/rules/loop-unstable.ts';
import { timeOutOfRange } from '../../../src/findings/rules/time-out-of-range.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { onRack } from '../../electrical/measured.ts';
import { runs } from '../../runs.ts';
import { countOf, expectBoth, type Facts, holds } from './every-corner.ts';

const share = fc.constantFrom(0, 0.04, 0.15);
const ohms = fc.constantFrom(1000, 10_000);
const OHM = 'ohm';

const DRUMS =
  'drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], gate: 20 ms, patterns: { a: { hit: "x---x-g-" } }, song: [a] }';

const LOOP = ['sum', 'band', 'load'] as const;

/** A mixer whose sum goes back into it through a filter's band output, which passes 1 at its cutoff. */
function loop({ sum, band, load }: Facts<(typeof LOOP)[number]>, back: number): Patch {
  return onRack(
    `  ${DRUMS}
  shape: { kind: envelope, attack: 1 ms, release: 30 ms }
  mix: { kind: mixer, level-2: ${back} % }
  ring: { kind: filter, cutoff: 400 Hz, q: 2 }
  out: { kind: output }`,
    'drums.hit -> shape.trigger, shape.out -> mix.in-1, mix.out -> ring.in, ring.band -> mix.in-2, ring.high -> out.left',
    `  drums: { kind: rhythm }
  shape: { kind: envelope }
  mix: { kind: mixer, jacks: { out: { resistance: ${sum} }, in-2: { resistance: ${load} } } }
  ring: { kind: filter, jacks: { band: { resistance: ${band} } } }
  out: { kind: output }`,
  );
}

it('a loop grows where it does so at some corner', () => {
  const told = countOf([loopUnstable]);
  fc.assert(
    fc.property(
      fc.record({ sum: ohms, band: ohms, load: fc.constantFrom(100_000) }),
      fc.record({ sum: share, band: share, load: share }),
      fc.constantFrom(101, 103, 110, 112, 122),
      (values, shares, back) => {
        const units = { sum: OHM, band: OHM, load: OHM };
        holds(LOOP, values, shares, (facts) => loop(facts, back), told, [loopUnstable], units);
      },
    ),
    runs(24),
  );
  expectBoth(told);
});

const LINE = ['peak', 'out', 'load'] as const;

/** A delay line whose time an envelope lengthens by octaves, turned over by an attenuator, or shortens in proportion. */
function line({ peak, out, load }: Facts<(typeof LINE)[number]>, input: string): Patch {
  return onRack(
    `  ${DRUMS}
  shape: { kind: envelope, attack: 1 ms, release: 30 ms }
  turn: { kind: attenuator, level: -100 % }
  echo: { kind: delay-line, feedback: 50 % }
  out: { kind: output }`,
    `drums.hit -> shape.trigger, shape.out -> echo.in, shape.out -> turn.in, turn.out -> echo.${input}, echo.out -> out.left`,
    `  drums: { kind: rhythm }
  shape: { kind: envelope, jacks: { out: { high: ${peak} } } }
  turn: { kind: attenuator, jacks: { out: { resistance: ${out} } } }
  echo: { kind: delay-line, jacks: { ${input}: { resistance: ${load} } } }
  out: { kind: output }`,
  );
}

it('a delay line is asked for too much where it is at some corner', () => {
  const told = countOf([timeOutOfRange]);
  fc.assert(
    fc.property(
      fc.record({
        peak: fc.constantFrom(2, 2.3, 4.9, 5.4),
        out: ohms,
        load: fc.constantFrom(100_000),
      }),
      fc.record({ peak: share, out: share, load: share }),
      fc.constantFrom('pitch', 'control'),
      (values, shares, input) => {
        const units = { out: OHM, load: OHM };
        holds(LINE, values, shares, (facts) => line(facts, input), told, [timeOutOfRange], units);
      },
    ),
    runs(24),
  );
  expectBoth(told);
});

const TOUCH = ['accent', 'touch', 'load'] as const;

/** An amplifier that an accent opens, through an attenuator with an offset. */
function touched(
  { accent, touch, load }: Facts<(typeof TOUCH)[number]>,
  { level, offset }: { readonly level: number; readonly offset: number },
): Patch {
  return onRack(
    `  ${DRUMS}
  tone: { kind: oscillator }
  touch: { kind: attenuator, level: ${level} %, offset: ${offset} V }
  last: { kind: amplifier, response: linear }
  snap: { kind: envelope }
  out: { kind: output }`,
    'drums.hit -> snap.trigger, drums.hit-accent -> touch.in, touch.out -> last.control, tone.sine -> last.in, last.out -> out.left, snap.out -> out.right',
    `  drums: { kind: rhythm, jacks: { hit-accent: { resistance: ${accent} } } }
  tone: { kind: oscillator }
  touch: { kind: attenuator, jacks: { in: { resistance: ${load} }, out: { resistance: ${touch} } } }
  last: { kind: amplifier }
  snap: { kind: envelope }
  out: { kind: output }`,
  );
}

it('a ghost stroke is shut where it is at some corner', () => {
  const told = countOf([ghostSilent]);
  fc.assert(
    fc.property(
      fc.record({ accent: ohms, touch: ohms, load: fc.constantFrom(47_000, 100_000) }),
      fc.record({ accent: share, touch: share, load: share }),
      fc.record({
        level: fc.constantFrom(40),
        offset: fc.constantFrom(1.3, 1.42, 1.46, 1.5, 1.56),
      }),
      (values, shares, set) => {
        const units = { accent: OHM, touch: OHM, load: OHM };
        holds(TOUCH, values, shares, (facts) => touched(facts, set), told, [ghostSilent], units);
      },
    ),
    runs(40),
  );
  expectBoth(told);
});
