/**
 * Filter: a state-variable filter, two integrators in a loop, with four outputs at once.
 *
 *   s = j f/f0, D = s^2 + s/q + 1
 *   low = 1/D   band = (s/q)/D   high = s^2/D   notch = (s^2 + 1)/D
 *   f0 = cutoff 2^(control-amount x volts at control)
 *
 * Each integrator follows the trapezoidal rule with no delay in the loop. The poles are the analogue
 * ones, and the outputs take a little of what else is in the loop, so that each follows its response
 * within 0.5 dB to 18 kHz at 48 kHz, at any q and for cutoffs up to 19 kHz: dsp/matched.ts of the
 * circuits. The rule also takes the same volts out of the two integrators, or less, at every sample
 * whatever f0 does meanwhile, so modulation at audio rate cannot make it run away: with no input,
 * s1^2 + s2^2 changes by -4 g d v1^2, g > 0 and d > 0 being this sample's gain and damping.
 *
 * Source: two-integrator loop: Sedra & Smith, Microelectronic Circuits, filters chapter (from memory);
 * Vicanek, "Matched second order digital filters" (2016; from memory).
 * Deviation: f0 in use is never above 0.45 of the sample rate. With a cutoff between 19 and 22 kHz low
 * is up to 0.6 dB off to 18 kHz and 2 dB above. All of that goes with the sample rate: at 44.1 kHz it is
 * true to 16.5 kHz, and at 18 kHz low and notch are up to 1.1 dB off with cutoffs from 16 kHz on.
 * Deviation: band comes up to a third of a sample (7 us at 48 kHz) early, so that band and notch of one
 * filter, added up, are not quite what went in: what is left is 23 dB under it with a cutoff of 1 kHz,
 * 11 dB at 5 kHz. Low and high leave more of the notch the higher it is: -57 dB at 1 kHz, -30 dB at 5 kHz.
 * Deviation: the integrators are ideal; only the jacks stop at the supply rails. A circuit driven
 * hard at high q would clip inside and lose some of its resonance.
 */

import { controlAmount, filterInputs, TRIED_Q } from './cutoff.ts';
import { define } from './definition.ts';
import { jackOut } from './jacks.ts';

/** Highest cutoff in use, as a fraction of the sample rate. */
export const HIGHEST_CUTOFF = 0.45;

export const filter = define({
  kind: 'filter',
  alsoCalled: [
    'vcf',
    'svf',
    'lowpass',
    'low-pass',
    'highpass',
    'high-pass',
    'bandpass',
    'band-pass',
  ],
  about:
    'A state-variable filter: low-pass, band-pass, high-pass (12 dB an octave) and notch at once, ' +
    'around a cutoff that a control voltage can move.',
  settings: {
    cutoff: {
      type: 'frequency',
      min: 5,
      max: 22_000,
      fallback: 1000,
      toldBy: 'cutoff',
      about: 'Where the outputs part, with 0 V at control.',
      moved: { jack: 'control', amount: 'control-amount', highest: HIGHEST_CUTOFF },
      tone: { as: 'colour' },
    },
    q: {
      type: 'number',
      min: 0.5,
      max: 100,
      fallback: Math.SQRT1_2,
      toldBy: 'q',
      about: 'Resonance: the gain of low and high at the cutoff. 0.707 is flat, 0.5 never rings.',
      tone: { as: 'colour', most: TRIED_Q },
    },
    'control-amount': controlAmount,
  },
  limits: [
    'Every output is within 0.5 dB of the analogue filter to 18 kHz at 48 kHz, at any q, with ' +
      'a cutoff up to 19 kHz; above that low is up to 0.6 dB off. At 44.1 kHz that holds to ' +
      '16.5 kHz, and at 18 kHz low and notch are up to 1.1 dB off with cutoffs from 16 kHz on.',
    'Band comes up to 7 us early at 48 kHz: band and notch of one filter, added up, differ ' +
      'from what went in by a part 23 dB under it with a cutoff of 1 kHz, 11 dB at 5 kHz.',
    'The cutoff in use is never above 0.45 of the sample rate.',
  ],
  needs: () => [{ inputs: ['in'], otherwise: 'gives nothing' }],
  filters: 'in',
  scales: ['in'],
  effect: 'Filtered',
  jacks: () => [
    ...filterInputs(),
    { ...jackOut('low', 'audio', 'What is below the cutoff.'), response: 'low' },
    {
      ...jackOut(
        'band',
        'audio',
        'What is around the cutoff, as loud as it came in at the cutoff itself.',
      ),
      response: 'band',
    },
    { ...jackOut('high', 'audio', 'What is above the cutoff.'), response: 'high' },
    { ...jackOut('notch', 'audio', 'All but what is around the cutoff.'), response: 'notch' },
  ],
  role: 'circuit',
  create: (values, site) => {
    site.make(
      'filter',
      ...['in', 'control'].map(site.input),
      ...['low', 'band', 'high', 'notch'].map(site.heard),
      values.cutoff,
      values.q,
      values['control-amount'],
      site.sampleRate,
    );
  },
  example: `title: Struck noise, only what is around 1.8 kHz
modules:
  drums:
    kind: rhythm
    channels: [hit]
    patterns:
      beat: { hit: "x-x- x-xx" }
    song: [beat]
  hiss:  { kind: noise, level: 3 V }
  shape: { kind: envelope, decay: 250 ms, sustain: 0 %, release: 250 ms }
  level: { kind: amplifier }
  tone:  { kind: filter, cutoff: 1.8 kHz, q: 1.5 }
  out:   { kind: output }
cables:
  - drums.hit  -> shape.trigger
  - shape.out  -> level.control
  - hiss.white -> level.in
  - level.out  -> tone.in
  - tone.band  -> out.left
`,
});
