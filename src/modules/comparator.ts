/**
 * Comparator: says which of two voltages is higher, as gates.
 *
 *   above goes on when   in >= reference + threshold + hysteresis / 2
 *   above goes off when  in <= reference + threshold - hysteresis / 2
 *   below is on whenever above is off
 *
 * Between these two voltages it does not switch, so a slow or noisy input switches once. With no hysteresis an
 * input that equals the threshold does not switch it.
 *
 * Source: comparator with hysteresis: Horowitz & Hill, The Art of Electronics, 4.3.2 (from memory).
 * Deviation: it switches at once and takes equal hysteresis on either side; the usual two resistors
 * move both thresholds a little when the reference moves.
 */

import { define } from './definition.ts';
import { volts } from './facts.ts';
import { gateLevel } from './gate-output.ts';
import { jackIn, jackOut } from './jacks.ts';

export const comparator = define({
  kind: 'comparator',
  alsoCalled: ['schmitt'],
  about:
    'Gives a gate while its input is higher than a threshold, and another while it is lower. ' +
    'Turns any moving voltage into gates.',
  settings: {
    threshold: {
      type: 'voltage',
      min: -10,
      max: 10,
      fallback: 1,
      about: 'Where it switches; the reference jack adds to it.',
    },
    hysteresis: {
      type: 'voltage',
      min: 0,
      max: 5,
      fallback: 0.1,
      about: 'From switching on to switching off, half of it either side of the threshold.',
    },
    level: gateLevel,
  },
  needs: () => [{ inputs: ['in', 'reference'], otherwise: 'gives nothing' }],
  gates: (output) => ({
    inputs: ['in', 'reference'],
    turns: (input) => ((output === 'below') === (input === 'in') ? 'always' : undefined),
    // What comes in need not be gates.
    pulses: () => undefined,
    strokes: () => ({ from: ['in'], late: 0, isAnswered: false }),
  }),
  crossed: ({ threshold, hysteresis }) => ({
    input: 'in',
    on: threshold + hysteresis / 2,
    moved: 'reference',
    setting: 'threshold',
  }),
  jacks: ({ level }) => [
    jackIn('in', 'control', 'What is compared.'),
    jackIn('reference', 'control', 'What it is compared with, added to the threshold.'),
    jackOut('above', 'gate', 'On while the input is higher.', volts(0, level)),
    jackOut('below', 'gate', 'On while the input is not higher.', volts(0, level)),
  ],
  role: 'circuit',
  create: ({ threshold, hysteresis, level }, site) => {
    site.make(
      'comparator',
      ...['in', 'reference'].map(site.input),
      ...['above', 'below'].map(site.heard),
      threshold,
      hysteresis,
      level,
    );
  },
  example: `title: Comparator
about: A slow triangle gives a gate while it is above 2 V, and each gate is a hit.
modules:
  sway:  { kind: oscillator, at-zero: 3 Hz }
  high:  { kind: comparator, threshold: 2 V }
  shape: { kind: envelope, release: 150 ms }
  hiss:  { kind: noise, level: 2 V }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - sway.triangle -> high.in
  - high.above    -> shape.trigger
  - shape.out     -> level.control
  - hiss.white    -> level.in
  - level.out     -> out.left
`,
});
