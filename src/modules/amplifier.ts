/**
 * Amplifier: a voltage sets how much of the input comes through.
 *
 *   linear:       out = in x control/unity, nothing below 0 V
 *   exponential:  out = in x (10^(range (control/unity - 1)/20) - g0)/(1 - g0), nothing below 0 V,
 *                 where g0 = 10^(-range/20) is what the power alone would leave at 0 V
 *
 * Both have a gain of 1 (0 dB) at `unity` volts and never more than `max-gain`. The exponential one
 * falls in a straight line of decibels, so many a volt, that would reach -range at 0 V. It keeps to
 * that line within 1 dB down to 20 dB above -range; below it bends down, and at 0 V it is shut, as a
 * circuit does whose trimmer cancels what it passes at 0 V.
 *
 * Source: the linear law is common practice, no source; decibels: gain = 10^(dB/20). A current that
 * is an exponential of the volts minus its value at 0 V, so that none flows there, is that of a junction,
 * I = I_S (e^(V/V_T) - 1): Shockley, The Theory of p-n Junctions in Semiconductors and p-n Junction
 * Transistors, Bell System Technical Journal 28 (1949) (from memory). A trimmer that nulls what passes
 * at 0 V: common practice, no source. The 80 dB of `range` are chosen, no source: the bend then
 * begins 60 dB under unity, where little is heard any more.
 * Deviation: nothing of control leaks into the output, and shut is silent; a circuit leaves a little
 * of both.
 */

import { define } from './definition.ts';
import { gainOfDb } from './dsp/math.ts';
import { jackIn, jackOut } from './jacks.ts';

export const amplifier = define({
  kind: 'amplifier',
  alsoCalled: ['vca', 'amp', 'gain'],
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
      fallback: 80,
      about: 'Exponential only: decibels that unity volts are worth. Near 0 V it bends to silence.',
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
  opened: ({ response, unity, range, 'max-gain': most }, volts) => {
    const law =
      response === 'linear' ? Math.max(0, volts / unity) : exponentialGain(volts, unity, range);
    return { law, gain: Math.min(law, gainOfDb(most)), unity };
  },
  jacks: () => [
    jackIn('in', 'audio', 'What is made louder or softer.'),
    jackIn('control', 'control', 'How much of it comes through.'),
    jackOut('out', 'audio', 'The result.'),
  ],
  role: 'circuit',
  isInstant: true,
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
  hiss:  { kind: noise, level: 2.5 V }
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

/**
 * Gives the gain of the exponential law, before `max-gain`: 1 at `unity`, 0 at and below 0 V, rising
 * all the way without a step.
 * @param unity V, from 1 on.
 * @param range dB, from 20 on.
 */
export function exponentialGain(control: number, unity: number, range: number): number {
  if (!(control > 0)) return 0;
  // The power's own gain at 0 V.
  const standing = gainOfDb(-range);
  const gain = (gainOfDb(range * (control / unity - 1)) - standing) / (1 - standing);
  // Just above 0 V two roundings may leave a difference below 0.
  return gain > 0 ? gain : 0;
}
