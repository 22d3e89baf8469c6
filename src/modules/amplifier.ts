/**
 * Amplifier: a voltage sets how much of the input comes through.
 *
 *   linear:       out = in x control/unity, nothing below 0 V
 *   exponential:  out = in x 10^(range (control/unity - 1)/20), nothing at and below 0 V
 *
 * Both have a gain of 1 (0 dB) at `unity` volts and never more than `max-gain`. The exponential one
 * lies `range` decibels lower as control nears 0 V, and there it shuts.
 *
 * Source: the two laws are common practice, no source; decibels: gain = 10^(dB/20).
 * Deviation: nothing of control leaks into the output, and shut is silent; a circuit leaves a little
 * of both.
 */

import { define } from './definition.ts';
import { gainOfDb } from './dsp/math.ts';
import { plain, volts } from './facts.ts';

export const amplifier = define({
  kind: 'amplifier',
  about:
    'A voltage-controlled amplifier: silent at 0 V, as loud as the input at its unity voltage.',
  settings: {
    response: {
      type: 'choice',
      options: ['linear', 'exponential'],
      fallback: 'linear',
      about: 'Whether equal steps of control are equal steps of gain, or of decibels.',
    },
    unity: {
      type: 'voltage',
      min: 1,
      max: 10,
      fallback: 5,
      about: 'The control voltage at which the output is as loud as the input.',
    },
    range: {
      type: 'decibel',
      min: 20,
      max: 120,
      fallback: 60,
      about: 'Exponential only: from unity down to just above 0 V.',
    },
    'max-gain': {
      type: 'decibel',
      min: 0,
      max: 24,
      fallback: 6,
      about: 'The gain that no control voltage exceeds.',
    },
  },
  needs: () => [
    { inputs: ['in'], otherwise: 'gives nothing' },
    { inputs: ['control'], otherwise: 'stays shut' },
  ],
  multiplies: { out: ['in'] },
  jacks: () => [
    {
      name: 'in',
      direction: 'in',
      signal: 'audio',
      about: 'What is made louder or softer.',
      facts: plain(),
    },
    {
      name: 'control',
      direction: 'in',
      signal: 'control',
      about: 'How much of it comes through.',
      facts: plain(),
    },
    {
      name: 'out',
      direction: 'out',
      signal: 'audio',
      about: 'The result.',
      facts: volts(-5, 5),
    },
  ],
  role: 'circuit',
  create: (values, site) => {
    const wires = [site.input('in'), site.input('control'), site.output('out')];
    const { unity, range, 'max-gain': most } = values;
    if (values.response === 'linear') site.make('linearAmplifier', ...wires, unity, most);
    else site.make('exponentialAmplifier', ...wires, unity, range, most);
  },
  example: `title: The same noise, shaped in decibels
modules:
  drums:
    kind: rhythm
    channels: [hit]
    patterns:
      beat: { hit: "x-x- x-xx" }
    song: [beat]
  hiss:  { kind: noise }
  shape: { kind: envelope, decay: 200 ms, sustain: 0 %, release: 200 ms }
  level: { kind: amplifier, response: exponential, range: 50 dB }
  out:   { kind: output }
cables:
  - drums.hit  -> shape.trigger
  - shape.out  -> level.control
  - hiss.white -> level.in
  - level.out  -> out.left
`,
});

/** Gain of the exponential law, before `max-gain`: 1 at `unity`, 0 at and below 0 V. */
export function exponentialGain(control: number, unity: number, range: number): number {
  return control > 0 ? gainOfDb(range * (control / unity - 1)) : 0;
}
