/**
 * Delay: gives a pulse a set time after each trigger.
 *
 *   out = level from `time` after each trigger, for `length`, else 0 V
 *
 * Triggers that come while earlier ones are still on their way are delayed too, 256 at most; one
 * further one is lost. A pulse that is still on when the next is due goes on without a gap.
 *
 * Source: common practice, no source.
 * Deviation: a circuit with one timer forgets the first trigger when a second comes before the
 * pulse. Times are rounded to whole samples.
 */

import { define } from './definition.ts';
import { voltageTrigger, volts } from './facts.ts';
import { gateLevel, pulseSamples } from './gate-output.ts';
import { stretched } from './gates.ts';
import { jackIn, jackOut } from './jacks.ts';

/** Triggers that may be on their way at once; a power of two. */
export const MOST_IN_FLIGHT = 256;

const settings = {
  time: {
    type: 'time',
    min: 0,
    max: 60,
    fallback: 0.02,
    toldBy: 'late',
    about: 'From the trigger to the pulse.',
  },
  length: {
    type: 'time',
    min: 0.0001,
    max: 60,
    fallback: 0.01,
    toldBy: 'length',
    about: 'How long the pulse lasts.',
  },
  level: gateLevel,
} as const;

export const delay = define({
  kind: 'delay',
  alsoCalled: ['gate-delay', 'trigger-delay'],
  about: 'Gives a pulse a set time after each trigger: a flam, an echo of a hit, a late layer.',
  settings,
  needs: () => [{ inputs: ['trigger'], otherwise: 'never starts' }],
  gates: () => ({
    inputs: ['trigger'],
    lasts: 'length',
    pulses([triggers = []], { time, length }, sampleRate) {
      const late = Math.round(time * sampleRate);
      const crowded = triggers.some(({ start }, i) => {
        const ahead = triggers[i + MOST_IN_FLIGHT];
        return ahead !== undefined && ahead.start <= start + late;
      });
      if (crowded) return undefined;
      const moved = triggers.map(({ start, end }) => ({ start: start + late, end: end + late }));
      return stretched(moved, pulseSamples(length, sampleRate), true);
    },
    strokes: ({ time }) => ({ from: ['trigger'], late: time, isAnswered: true }),
  }),
  jacks: ({ level }) => [
    jackIn('trigger', 'gate', 'Its rising edge is delayed.', voltageTrigger(0)),
    jackOut('out', 'gate', 'The late pulse.', volts(0, level)),
  ],
  role: 'circuit',
  create: (values, site) => {
    site.make(
      'delay',
      site.input('trigger'),
      site.output('out'),
      values.level,
      site.trigger('trigger'),
      Math.round(values.time * site.sampleRate),
      pulseSamples(values.length, site.sampleRate),
    );
  },
  example: `title: Delay
about: Each hit is followed 24 ms later by a second one - a flam from one trigger.
modules:
  drums: { kind: rhythm, tempo: 100 bpm, channels: [snare], gate: 5 ms, patterns: { groove: { snare: "--x---x-" } }, song: [groove] }
  split: { kind: multiple }
  late:  { kind: delay, time: 24 ms, length: 5 ms }
  both:  { kind: logic }
  shape: { kind: envelope, release: 90 ms }
  hiss:  { kind: noise }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.snare -> split.in
  - split.out-1 -> both.a
  - split.out-2 -> late.trigger
  - late.out    -> both.b
  - both.or     -> shape.trigger
  - shape.out   -> level.control
  - hiss.white  -> level.in
  - level.out   -> out.left
`,
});
