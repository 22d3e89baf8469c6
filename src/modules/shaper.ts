/**
 * Shaper: bends the wave, and so adds harmonics.
 *
 *   out = 5 V f(x), x = (gain in + bias) / 5 V
 *   gain = drive x 2^(control-amount x volts at control)
 *   saturate   f(x) = x / sqrt(1 + x^2): x - x^3/2 + ..., never beyond 1
 *   fold       f(x) = x to 1, then back down, and so on: a triangle of x
 *   rectify    f(x) = |x|, up to 9 V
 *
 * The bend is worked out at four times the sample rate and averaged from sample to sample there
 * (dsp/curves.ts), against aliases. What still folds back to below 20 kHz at 48 kHz, against the
 * strongest partial, for sines of so many volts after the drive:
 *
 *                      441 Hz     1.2 kHz     5 kHz
 *   saturate, 20 V    -150 dB     -140 dB    -110 dB
 *   rectify, 5 V      -110 dB      -90 dB     -75 dB
 *   fold, 20 V         -90 dB      -75 dB     -50 dB
 *
 * Source: dsp/curves.ts; Fourier series of the rectified sine, 2/pi - (4/pi) sum cos(2 n w t)/(4 n^2 -
 * 1): Abramowitz & Stegun 23 or any table (from memory). The curves are common practice, no source.
 * Deviation: the top is down by 0.1 dB at 10 kHz and 0.5 dB at 20 kHz at a rate of 48 kHz, which is
 * what the averaging takes, and the output comes some 5 samples late.
 * Deviation: no hysteresis and no limit on speed, as the diodes and op-amps of a circuit have.
 */

import { type Circuit, define, type Values } from './definition.ts';
import { type Curve, Folding, Rectification, Saturation } from './dsp/curves.ts';
import { SteepHalfBand, WideHalfBand } from './dsp/half-band.ts';
import { exp2, gainOfDb } from './dsp/math.ts';
import { toRails } from './dsp/rails.ts';
import { plain, volts } from './facts.ts';

/** V at which saturation and folding set in. */
const BEND = 5;
/** V at which a rectified wave stops: short of the supply rails, where band-limiting lets it swing. */
const RECTIFIED = 9;
/** 60 dB: the gain that no control voltage exceeds. */
const MOST_GAIN = 1000;

const settings = {
  shape: {
    type: 'choice',
    options: ['saturate', 'fold', 'rectify'],
    fallback: 'saturate',
    about:
      'saturate: rounds off towards 5 V. fold: turns back at 5 V, again and again. rectify: turns ' +
      'what is below 0 V upwards.',
  },
  drive: {
    type: 'decibel',
    min: -20,
    max: 40,
    fallback: 6,
    about: 'Gain ahead of the bend, with 0 V at control.',
  },
  'control-amount': {
    type: 'percent',
    min: -1,
    max: 1,
    fallback: 1,
    about: 'How far control moves the drive: 100 % doubles it with each volt.',
  },
  bias: {
    type: 'voltage',
    min: -10,
    max: 10,
    fallback: 0,
    about:
      'Added ahead of the bend: makes it lopsided, which brings even harmonics and a DC voltage.',
  },
} as const;

export const shaper = define({
  kind: 'shaper',
  about: 'Bends a wave to add harmonics: rounds it off, folds it back, or rectifies it.',
  settings,
  jacks: () => [
    {
      name: 'in',
      direction: 'in',
      signal: 'audio',
      about: 'What is bent.',
      facts: plain(),
    },
    {
      name: 'control',
      direction: 'in',
      signal: 'control',
      about: 'Moves the drive; 1 V doubles it at 100 %.',
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
    site.make(
      'shaper',
      ...['in', 'control'].map(site.input),
      site.output('out'),
      values.drive,
      values['control-amount'],
      values.bias,
    );
  },
  example: `title: Shaper
about: A sine that folds as it is struck and clears as it dies away.
modules:
  drums: { kind: rhythm, tempo: 110 bpm, channels: [tom], gate: 10 ms, patterns: { groove: { tom: "x--x--x-" } }, song: [groove] }
  tone:  { kind: oscillator, tune: 12 st }
  shape: { kind: envelope, decay: 300 ms, release: 300 ms }
  split: { kind: multiple }
  bend:  { kind: shaper, shape: fold, drive: 0 dB, control-amount: 40 % }
  level: { kind: amplifier }
  out:   { kind: output }
cables:
  - drums.tom   -> shape.trigger
  - shape.out   -> split.in
  - split.out-1 -> bend.control
  - split.out-2 -> level.control
  - tone.sine   -> bend.in
  - bend.out    -> level.in
  - level.out   -> out.left
`,
});

class ShaperCircuit implements Circuit {
  /** V. */
  out = 0;

  private readonly curve: Curve;
  private readonly drive: number;
  private readonly amount: number;
  private readonly bias: number;
  private readonly doubler = new SteepHalfBand();
  private readonly redoubler = new WideHalfBand();
  private readonly rehalver = new WideHalfBand();
  private readonly halver = new SteepHalfBand();
  /** One sample, made into four. */
  private readonly four = new Float64Array(4);
  /** Volts at control that `gain` is for; none at first. */
  private control = Number.NaN;
  private gain = 0;

  constructor(values: Values<typeof settings>) {
    this.curve = curveOf(values.shape);
    this.drive = gainOfDb(values.drive);
    this.amount = values['control-amount'];
    this.bias = values.bias / BEND;
  }

  run(input: number, control: number): void {
    if (control !== this.control) {
      this.control = control;
      this.follow();
    }
    const { doubler } = this;
    doubler.even = doubler.odd = this.gain * input;
    this.shape();
  }

  // These take their volts from fields, since V8 would box an argument of a call it does not inline.

  private shape(): void {
    const { doubler, redoubler, rehalver, halver, bias, four } = this;
    doubler.run();
    redoubler.even = redoubler.odd = doubler.even;
    redoubler.run();
    four[0] = redoubler.even + bias;
    four[1] = redoubler.odd + bias;
    redoubler.even = redoubler.odd = doubler.odd;
    redoubler.run();
    four[2] = redoubler.even + bias;
    four[3] = redoubler.odd + bias;
    this.curve.bend(four);
    rehalver.even = four[1] as number;
    rehalver.odd = four[0] as number;
    rehalver.run();
    halver.odd = rehalver.even + rehalver.odd;
    rehalver.even = four[3] as number;
    rehalver.odd = four[2] as number;
    rehalver.run();
    halver.even = rehalver.even + rehalver.odd;
    halver.run();
    this.out = toRails((halver.even + halver.odd) * (BEND / 4));
  }

  settle(): void {
    this.doubler.settle();
    this.redoubler.settle();
    this.rehalver.settle();
    this.halver.settle();
  }

  private follow(): void {
    this.gain = Math.min(this.drive * exp2(this.amount * this.control), MOST_GAIN) / BEND;
  }
}

function curveOf(shape: Values<typeof settings>['shape']): Curve {
  switch (shape) {
    case 'saturate':
      return new Saturation();
    case 'fold':
      return new Folding();
    default:
      return new Rectification(RECTIFIED / BEND);
  }
}
