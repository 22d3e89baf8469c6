/**
 * Mixer: eight inputs added up, each with its own level.
 *
 *   out = sum of level[k] in[k], k = 1..8
 *
 * A negative level turns its input upside down. Audio and control voltages mix alike.
 *
 * Source: the summing amplifier: Horowitz & Hill, The Art of Electronics, 3rd ed., ch. 4 (from
 * memory).
 */

import { define, type InputJack, type NumberSpec } from './definition.ts';
import { usualVolts } from './facts.ts';
import { jackIn, jackOut } from './jacks.ts';

const INPUTS = [1, 2, 3, 4, 5, 6, 7, 8] as const;

export const mixer = define({
  kind: 'mixer',
  alsoCalled: ['mix', 'sum'],
  about: 'Adds up to eight signals, each at its own level.',
  settings: {
    'level-1': level(1),
    'level-2': level(2),
    'level-3': level(3),
    'level-4': level(4),
    'level-5': level(5),
    'level-6': level(6),
    'level-7': level(7),
    'level-8': level(8),
  },
  needs: () => [{ inputs: INPUTS.map((input) => `in-${input}`), otherwise: 'gives nothing' }],
  carries: { out: INPUTS.map((input) => `in-${input}`) },
  effect: 'Mixed',
  jacks: () => [
    ...INPUTS.map(
      (input): InputJack => ({
        ...jackIn(`in-${input}`, 'audio', `Signal ${input}.`),
        level: `level-${input}`,
      }),
    ),
    jackOut('out', 'audio', 'The sum.', usualVolts(-10, 10)),
  ],
  role: 'circuit',
  isInstant: true,
  create: (values, site) => {
    const made = site.make('mixer', site.output('out'));
    for (const input of INPUTS) {
      const jack = `in-${input}`;
      site.call('mixerInput', made, site.input(jack), values[`level-${input}`], site.patched(jack));
    }
  },
  sums: (values) =>
    INPUTS.map((input) => ({
      output: 'out',
      input: `in-${input}`,
      gain: values[`level-${input}`],
    })),
  example: `title: Two colours of noise, mixed
modules:
  drums:
    kind: rhythm
    channels: [hit]
    patterns:
      beat: { hit: "x-x- x-xx" }
    song: [beat]
  hiss:  { kind: noise }
  blend: { kind: mixer, level-1: 30 %, level-2: 120 % }
  shape: { kind: envelope, decay: 120 ms, sustain: 0 %, release: 120 ms }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.hit  -> shape.trigger
  - shape.out  -> level.control
  - hiss.white -> blend.in-1
  - hiss.pink  -> blend.in-2
  - blend.out  -> level.in
  - level.out  -> out.left
`,
});

function level(input: number): NumberSpec {
  return {
    type: 'percent',
    min: -2,
    max: 2,
    fallback: 1,
    toldBy: 'share',
    about: `How much of in-${input} is added; negative turns it upside down.`,
    input: `in-${input}`,
  };
}
