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

import { type Circuit, define, type Site } from './definition.ts';
import { exp2 } from './dsp/math.ts';
import { toRails } from './dsp/rails.ts';
import { plain, volts } from './facts.ts';

/** Highest cutoff in use, as a fraction of the sample rate. */
export const HIGHEST_CUTOFF = 0.45;
/** V. Smaller states are nothing to hear, and numbers far smaller slow a processor down. */
const NOTHING = 1e-15;

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
    'control-amount': {
      type: 'percent',
      min: -1,
      max: 1,
      fallback: 1,
      about: 'How far control moves the cutoff: 100 % is an octave a volt; negative moves it down.',
    },
  },
  jacks: () => [
    {
      name: 'in',
      direction: 'in',
      signal: 'audio',
      about: 'What is filtered.',
      facts: plain(),
    },
    {
      name: 'control',
      direction: 'in',
      signal: 'control',
      about: 'Moves the cutoff, an octave a volt at 100 %.',
      facts: plain(),
    },
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

class StateVariableFilter implements Circuit {
  /** V, as are the others; one that nobody listens to stays at 0. */
  low = 0;
  band = 0;
  high = 0;
  notch = 0;

  private readonly hasLow: boolean;
  private readonly hasBand: boolean;
  private readonly hasHigh: boolean;
  private readonly hasNotch: boolean;
  private input = 0;

  private readonly period: number;
  private readonly cutoff: number;
  private readonly damping: number;
  private readonly amount: number;

  /** Volts at control that the three coefficients below are for; none at first. */
  private control = Number.NaN;
  private keep = 0;
  private pass = 0;
  private reach = 0;
  /** The integrators' outputs, V, halfway between this sample and the next. */
  private s1 = 0;
  private s2 = 0;

  constructor(cutoff: number, q: number, amount: number, site: Site) {
    this.period = 1 / site.sampleRate;
    this.cutoff = cutoff;
    this.damping = 1 / q;
    this.amount = amount;
    this.hasLow = site.patched('low');
    this.hasBand = site.patched('band');
    this.hasHigh = site.patched('high');
    this.hasNotch = site.patched('notch');
  }

  run(input: number, control: number): void {
    if (control !== this.control) {
      this.control = control;
      this.tune();
    }
    const s1 = this.s1;
    const s2 = this.s2;
    // The loop solved for its next states: few operations lie between one sample and the next.
    const difference = input - s2;
    const next1 = this.keep * s1 + this.pass * difference;
    const next2 = s2 + (this.pass * s1 + this.reach * difference);
    this.s1 = next1;
    this.s2 = next2;
    this.input = input;
    // Trapezoidal rule: each integrator's output is the mean of its states on either side.
    const band = this.damping * (0.5 * (s1 + next1));
    const low = 0.5 * (s2 + next2);
    if (this.hasHigh) this.high = toRails(input - band - low);
    if (this.hasLow) this.low = toRails(low);
    if (this.hasBand) this.band = toRails(band);
    if (this.hasNotch) this.notch = toRails(input - band);
  }

  rests(): boolean {
    return (
      this.s1 === 0 &&
      this.s2 === 0 &&
      this.input === 0 &&
      this.low === 0 &&
      this.band === 0 &&
      this.high === 0 &&
      this.notch === 0
    );
  }

  settle(): void {
    if (Math.abs(this.s1) < NOTHING) this.s1 = 0;
    if (Math.abs(this.s2) < NOTHING) this.s2 = 0;
  }

  /** Takes its volts from the field, since V8 would box an argument of a call that it does not inline. */
  private tune(): void {
    const cutoff = this.cutoff * this.period * exp2(this.amount * this.control);
    const gain = integratorGain(Math.min(cutoff, HIGHEST_CUTOFF));
    // With g this gain and k = 1/q the loop is
    //   high = in - k v1 - v2,  v1 = s1 + g high,  v2 = s2 + g v1,  next = 2 v - s.
    const twice = 2 / (1 + gain * (gain + this.damping));
    this.keep = twice - 1;
    this.pass = twice * gain;
    this.reach = twice * gain * gain;
  }
}
