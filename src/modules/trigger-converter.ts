/**
 * Trigger converter: turns voltage triggers into switch triggers and the other way round.
 *
 *   switch-out  = closed while voltage-in is on
 *   voltage-out = level while switch-in is on (pulled low), else 0 V
 *
 * Each way is a comparator with hysteresis, so a slow or noisy edge switches once. A transistor
 * follows its input at once: the shortest pulse noticed is 0.
 *
 * Source: a transistor to ground and a comparator are common practice, no source.
 * Deviation: the transistor's own switching time (microseconds) and the slow rise of a switch line
 * through its pull-up and the cable's capacitance are left out; both are far under one sample.
 */

import { define } from './definition.ts';
import { closure, switchTrigger, voltageTrigger, volts } from './facts.ts';

export const triggerConverter = define({
  kind: 'trigger-converter',
  about:
    'Turns a voltage trigger into a switch trigger, and a switch trigger into a voltage trigger. ' +
    'The two ways are independent.',
  settings: {
    level: {
      type: 'voltage',
      min: 1,
      max: 12,
      fallback: 5,
      about: 'High voltage of voltage-out.',
    },
  },
  needs: () => [
    { inputs: ['voltage-in'], otherwise: 'never starts', output: 'switch-out' },
    { inputs: ['switch-in'], otherwise: 'never starts', output: 'voltage-out' },
  ],
  gates: (output) => {
    const from = [output === 'switch-out' ? 'voltage-in' : 'switch-in'];
    return {
      inputs: from,
      pulses: ([gate = []]) => gate,
      strokes: () => ({ from, late: 0, isAnswered: false }),
    };
  },
  jacks: ({ level }) => [
    {
      name: 'voltage-in',
      direction: 'in',
      signal: 'gate',
      about: 'Voltage trigger that closes switch-out.',
      facts: voltageTrigger(0),
      rise: 'passes',
    },
    {
      name: 'switch-in',
      direction: 'in',
      signal: 'switch',
      about: 'Switch trigger that raises voltage-out.',
      facts: switchTrigger(0),
      rise: 'passes',
    },
    {
      name: 'switch-out',
      direction: 'out',
      signal: 'switch',
      about: 'Closed to ground while voltage-in is on.',
      facts: closure(),
    },
    {
      name: 'voltage-out',
      direction: 'out',
      signal: 'gate',
      about: 'At the level while switch-in is on, else at 0 V.',
      facts: volts(0, level),
    },
  ],
  role: 'circuit',
  create: ({ level }, site) => {
    site.make(
      'triggerConverter',
      ...['voltage-in', 'switch-in'].map(site.input),
      ...['switch-out', 'voltage-out'].map(site.heard),
      level,
      ...['voltage-in', 'switch-in'].map(site.trigger),
    );
  },
  example: `title: Trigger converter
about: A rhythm's gate closes a switch that fires a switch-triggered envelope.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hat], patterns: { groove: { hat: "x-x-x-x-" } }, song: [groove] }
  adapt: { kind: trigger-converter }
  shape: { kind: envelope, trigger: switch, release: 60 ms }
  hiss:  { kind: noise }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.hat        -> adapt.voltage-in
  - adapt.switch-out -> shape.trigger
  - hiss.white       -> level.in
  - shape.out        -> level.control
  - level.out        -> out.left
`,
});
