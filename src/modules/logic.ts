/**
 * Logic: combines two gates.
 *
 *   or = a or b    and = a and b    exclusive = one of them but not both    not = a is off
 *
 * Each input is a comparator with hysteresis, so a slow edge switches once. An input without a plug
 * is off.
 *
 * Source: Boolean algebra; the names are those of IEEE Std 91 (from memory).
 * Deviation: it switches at once. Real gates take some nanoseconds, and one that waits for two edges
 * a little apart gives a short false pulse, as this one does when they are a sample apart or more.
 */

import { define } from './definition.ts';
import { voltageTrigger, volts } from './facts.ts';
import { gateLevel } from './gate-output.ts';
import { union, where } from './gates.ts';
import { jackOut } from './jacks.ts';

export const logic = define({
  kind: 'logic',
  alsoCalled: ['and', 'or', 'xor', 'not', 'gates'],
  about: 'Combines two gates: either, both, just one of them, and the opposite of the first.',
  settings: { level: gateLevel },
  needs: () => [{ inputs: ['a', 'b'], otherwise: 'gives nothing' }],
  recounts: true,
  gates: (output) => ({
    inputs: output === 'not' ? ['a'] : ['a', 'b'],
    ...(output !== 'not' && { joins: true }),
    turns: () => (output === 'not' ? 'always' : output === 'exclusive' ? 'at times' : undefined),
    pulses([a = [], b = []]) {
      switch (output) {
        case 'or':
          return union([a, b]);
        case 'and':
          return where(a, b, (inA, inB) => inA && inB);
        case 'exclusive':
          return where(a, b, (inA, inB) => inA !== inB);
        default:
          return where(a, b, (inA) => !inA);
      }
    },
    strokes: () => (output === 'or' ? { from: ['a', 'b'], late: 0, isAnswered: false } : undefined),
  }),
  jacks: ({ level }) => [
    {
      name: 'a',
      direction: 'in',
      signal: 'gate',
      about: 'The first gate.',
      facts: voltageTrigger(0),
      rise: 'passes',
    },
    {
      name: 'b',
      direction: 'in',
      signal: 'gate',
      about: 'The second gate.',
      facts: voltageTrigger(0),
      rise: 'passes',
    },
    jackOut('or', 'gate', 'On while a or b is on, or both.', volts(0, level)),
    jackOut('and', 'gate', 'On while a and b are both on.', volts(0, level)),
    jackOut('exclusive', 'gate', 'On while one of them is on and the other off.', volts(0, level)),
    jackOut('not', 'gate', 'On while a is off.', volts(0, level)),
  ],
  role: 'circuit',
  create: ({ level }, site) => {
    site.make(
      'logic',
      ...['a', 'b'].map(site.input),
      ...['or', 'and', 'exclusive', 'not'].map(site.heard),
      level,
      ...['a', 'b'].map(site.trigger),
    );
  },
  example: `title: Logic
about: Two patterns of different lengths; only where just one of them plays is there a hit.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [three, four], gate: 60 ms, patterns: { groove: { three: "x--", four: "x---------x-" } }, song: [groove] }
  one:   { kind: logic }
  shape: { kind: envelope, release: 80 ms }
  hiss:  { kind: noise, level: 2 V }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.three   -> one.a
  - drums.four    -> one.b
  - one.exclusive -> shape.trigger
  - shape.out     -> level.control
  - hiss.white    -> level.in
  - level.out     -> out.left
`,
});
