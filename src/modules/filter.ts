/**
 * Filter: a state-variable filter, two integrators in a loop, with four outputs at once.
 *
 *   s = j f/f0, D = s^2 + s/q + 1
 *   low = 1/D   band = (s/q)/D   high = s^2/D   notch = (s^2 + 1)/D
 *   f0 = cutoff 2^(control-amount x volts at control)
 *
 * Each integrator follows the trapezoidal rule with no delay in the loop, and f0 is prewarped, so
 * the response is the analogue one with f/f0 replaced by tan(pi f/rate)/tan(pi f0/rate): exact at
 * f0, with q as set. The rule also takes the same volts out of the two integrators, or less, at
 * every sample whatever f0 does meanwhile, so modulation at audio rate cannot make it run away:
 * with no input, s1^2 + s2^2 changes by -4 g v1^2/q, g > 0 being this sample's f0.
 *
 * Source: two-integrator loop: Sedra & Smith, Microelectronic Circuits, filters chapter; bilinear
 * transform with prewarping: Oppenheim & Schafer, Discrete-Time Signal Processing, 3rd ed., 7.2.2
 * (both from memory).
 * Deviation: f0 in use is never above 0.45 of the sample rate.
 * Deviation: the integrators are ideal; only the jacks stop at the supply rails. A circuit driven
 * hard at high q would clip inside and lose some of its resonance.
 */

import { controlAmount, filterInputs } from './cutoff.ts';
import { define } from './definition.ts';
import { volts } from './facts.ts';

/** Highest cutoff in use, as a fraction of the sample rate. */
export const HIGHEST_CUTOFF = 0.45;

export const filter = define({
  kind: 'filter',
  about:
    'A state-variable filter: low-pass, band-pass, high-pass (12 dB an octave) and notch at once, ' +
    'around a cutoff that a control voltage can move.',
  settings: {
    cutoff: {
      type: 'frequency',
      min: 5,
      max: 22_000,
      fallback: 1000,
      about: 'Where the outputs part, with 0 V at control.',
    },
    q: {
      type: 'number',
      min: 0.5,
      max: 100,
      fallback: Math.SQRT1_2,
      about: 'Resonance: the gain of low and high at the cutoff. 0.707 is flat, 0.5 never rings.',
    },
    'control-amount': controlAmount,
  },
  needs: () => [{ inputs: ['in'], otherwise: 'gives nothing' }],
  effect: 'Filtered',
  jacks: () => [
    ...filterInputs(),
    {
      name: 'low',
      direction: 'out',
      signal: 'audio',
      about: 'What is below the cutoff.',
      facts: volts(-5, 5),
    },
    {
      name: 'band',
      direction: 'out',
      signal: 'audio',
      about: 'What is around the cutoff, as loud as it came in at the cutoff itself.',
      facts: volts(-5, 5),
    },
    {
      name: 'high',
      direction: 'out',
      signal: 'audio',
      about: 'What is above the cutoff.',
      facts: volts(-5, 5),
    },
    {
      name: 'notch',
      direction: 'out',
      signal: 'audio',
      about: 'All but what is around the cutoff.',
      facts: volts(-5, 5),
    },
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
  hiss:  { kind: noise }
  shape: { kind: envelope, decay: 120 ms, sustain: 0 %, release: 120 ms }
  level: { kind: amplifier }
  tone:  { kind: filter, cutoff: 1.8 kHz, q: 6 }
  out:   { kind: output }
cables:
  - drums.hit  -> shape.trigger
  - shape.out  -> level.control
  - hiss.white -> level.in
  - level.out  -> tone.in
  - tone.band  -> out.left
`,
});

/**
 * Computes the gain of a trapezoidal integrator for a cutoff: tan(pi cutoff/rate).
 *
 * Method: the continued fraction of the tangent (Abramowitz & Stegun 4.3.94) to its sixth level, at
 * half the angle, then the double angle: 2 p q/(q^2 - p^2). Three times as fast as sine over
 * cosine, which counts when a cutoff moves at every sample.
 * @param cutoff as a fraction of the sample rate, 0 to 0.45. At 0 it is 0: the integrator stands.
 * @returns the gain within 1e-10 of itself: a cutoff right to 2e-7 cents.
 */
export function integratorGain(cutoff: number): number {
  const y = cutoff * (Math.PI / 2);
  const y2 = y * y;
  const p = y * (10_395 + y2 * (-1260 + y2 * 21));
  const q = 10_395 + y2 * (-4725 + y2 * (210 - y2));
  return (2 * p * q) / (q * q - p * p);
}
