/**
 * Pulse: makes a pulse of a set length out of any gate or trigger.
 *
 *   out = level for `length` from the sample at which the trigger is noticed, then 0 V
 *
 * A trigger that comes while the pulse is on restarts its length, with no gap, or is ignored.
 *
 * Source: the monostable multivibrator, with and without retrigger: Horowitz & Hill, The Art of
 * Electronics, 10.4.4 (from memory).
 * Deviation: the length is rounded to whole samples, one at least.
 */

import { define } from './definition.ts';
import { voltageTrigger, volts } from './facts.ts';
import { gateLevel, pulseSamples } from './gate-output.ts';
import { stretched } from './gates.ts';
import { jackIn, jackOut } from './jacks.ts';

const settings = {
  length: {
    type: 'time',
    min: 0.0001,
    max: 60,
    fallback: 0.01,
    toldBy: 'length',
    about: 'How long the pulse lasts, whatever the length of the trigger.',
  },
  retrigger: {
    type: 'flag',
    fallback: true,
    about: 'Whether a trigger during the pulse restarts its length; otherwise it is ignored.',
  },
  level: gateLevel,
} as const;

export const pulse = define({
  kind: 'pulse',
  alsoCalled: ['one-shot', 'oneshot', 'monostable', 'trigger-to-gate'],
  about:
    'Turns a gate or trigger of any length into a pulse of a set length: longer, so that a slow ' +
    'input notices it, or shorter.',
  settings,
  needs: () => [{ inputs: ['trigger'], otherwise: 'never starts' }],
  gates: () => ({
    inputs: ['trigger'],
    lasts: 'length',
    pulses: ([triggers = []], { length, retrigger }, sampleRate) =>
      stretched(triggers, pulseSamples(length, sampleRate), retrigger),
    strokes: ({ retrigger }) =>
      retrigger ? { from: ['trigger'], late: 0, isAnswered: true } : undefined,
  }),
  jacks: ({ level }) => [
    jackIn('trigger', 'gate', 'Its rising edge starts the pulse.', voltageTrigger(0)),
    jackOut('out', 'gate', 'The pulse.', volts(0, level)),
  ],
  role: 'circuit',
  create: (values, site) => {
    site.make(
      'pulse',
      site.input('trigger'),
      site.output('out'),
      values.level,
      site.trigger('trigger'),
      pulseSamples(values.length, site.sampleRate),
      values.retrigger,
    );
  },
  example: `title: Pulse
about: Short triggers become gates of 90 ms, so the envelope holds before it falls.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [clap], gate: 2 ms, patterns: { groove: { clap: "--x---x-" } }, song: [groove] }
  widen: { kind: pulse, length: 90 ms }
  shape: { kind: envelope, attack: 2 ms, decay: 40 ms, sustain: 60 %, release: 60 ms }
  hiss:  { kind: noise }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.clap -> widen.trigger
  - widen.out  -> shape.trigger
  - shape.out  -> level.control
  - hiss.white -> level.in
  - level.out  -> out.left
`,
});
