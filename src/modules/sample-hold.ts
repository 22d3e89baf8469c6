/**
 * Sample and hold: takes the input's volts when a trigger comes and keeps them until the next.
 *
 *   sample   out = in at the sample at which the trigger is noticed, held
 *   track    out = in while the trigger is on; then its last value, held
 *
 * Source: common practice, no source.
 * Deviation: it holds forever and switches at once. A circuit's capacitor droops by millivolts a
 * second and takes some microseconds to charge.
 */

import { define } from './definition.ts';
import { voltageTrigger } from './facts.ts';
import { jackIn, jackOut } from './jacks.ts';

export const sampleHold = define({
  kind: 'sample-hold',
  alsoCalled: ['sample-and-hold', 's&h', 'sh', 'track-and-hold'],
  about:
    'Sample and hold: keeps the volts that its input had when the trigger came. With noise at the ' +
    'input each trigger gives a new random voltage.',
  settings: {
    mode: {
      type: 'choice',
      options: ['sample', 'track'],
      fallback: 'sample',
      about: 'sample: takes one value a trigger. track: follows while the trigger is on.',
    },
  },
  needs: () => [
    { inputs: ['in'], otherwise: 'gives nothing' },
    { inputs: ['trigger'], otherwise: 'never starts' },
  ],
  jacks: ({ mode }) => [
    jackIn('in', 'control', 'What is sampled.'),
    {
      name: 'trigger',
      direction: 'in',
      signal: 'gate',
      about: 'When it is sampled.',
      facts: voltageTrigger(0),
      rise: mode === 'track' ? 'passes' : 'starts',
    },
    jackOut('out', 'control', 'The held volts.'),
  ],
  role: 'circuit',
  create: ({ mode }, site) => {
    site.make(
      'sampleHold',
      ...['in', 'trigger'].map(site.input),
      site.output('out'),
      mode === 'track',
      site.trigger('trigger'),
    );
  },
  // Held, a voltage is still one of those that came in.
  passes: () => [{ output: 'out', offset: 0, terms: [{ input: 'in', gain: 1 }] }],
  example: `title: Sample and hold
about: Each hit is tuned by a new random voltage.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [hit], gate: 10 ms, patterns: { groove: { hit: "x-xxx-x-" } }, song: [groove] }
  split: { kind: multiple }
  hiss:  { kind: noise }
  keep:  { kind: sample-hold }
  tone:  { kind: oscillator, tune: 24 st }
  shape: { kind: envelope, release: 120 ms }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.hit     -> split.in
  - split.out-1   -> keep.trigger
  - split.out-2   -> shape.trigger
  - hiss.white    -> keep.in
  - keep.out      -> tone.pitch
  - tone.triangle -> level.in
  - shape.out     -> level.control
  - level.out     -> out.left
`,
});
