/**
 * Shaper: bends the wave, and so adds harmonics.
 *
 *   out = 5 V f(x), x = (gain in + bias) / 5 V
 *   gain = drive x 2^(control-amount x volts at control)
 *   saturate   f(x) = x / sqrt(1 + x^2): x - x^3/2 + ..., never beyond 1
 *   fold       f(x) = x to 1, then back down, and so on: a triangle of x
 *   rectify    f(x) = |x|, up to 9 V
 *
 * The bend is worked out between samples (dsp/curves.ts of the circuits), against aliases: saturation at
 * four times the sample rate, the curves with corners at eight times, with each corner where it truly is.
 * Aliases that are left below 20 kHz lie 100 dB and more under the strongest partial, for sines of up
 * to 5 kHz and, after the drive, 20 V (saturate and fold) or 9 V (rectify). At 48 kHz, in dB:
 *
 *                      441 Hz     1.2 kHz     5 kHz     10 kHz
 *   saturate, 20 V      -170       -170       -110        -80
 *   saturate, 50 V      -170       -145        -70        -60
 *   rectify, 5 V        -160       -145       -120       -110
 *   fold, 20 V          -140       -125       -100        -90
 *   fold, 50 V          -130       -110        -85        -80
 *
 * That costs: a fold or a rectifier takes twice as long as saturation, a fold of noise three times.
 *
 * Source: dsp/curves.ts; Fourier series of the rectified sine, 2/pi - (4/pi) sum cos(2 n w t)/(4 n^2 -
 * 1): Abramowitz & Stegun 23 or any table (from memory). The curves are common practice, no source.
 * Deviation: the top is down by up to 0.2 dB at 20 kHz (saturate: 0.5 dB) at a rate of 48 kHz, due to the
 * averaging, and the output comes some 5 samples late.
 * Deviation: no hysteresis and no limit on speed, which the diodes and op-amps of a circuit have.
 */

import { define } from './definition.ts';
import { jackIn, jackOut } from './jacks.ts';

/** In the circuit's order. */
const SHAPES = ['saturate', 'fold', 'rectify'] as const;

const settings = {
  shape: {
    type: 'choice',
    options: SHAPES,
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
    tone: { as: 'colour' },
  },
  'control-amount': {
    type: 'percent',
    min: -1,
    max: 1,
    fallback: 1,
    about: 'How far control moves the drive: 100 % doubles it with each volt.',
    input: 'control',
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
  alsoCalled: [
    'wavefolder',
    'folder',
    'distortion',
    'waveshaper',
    'rectifier',
    'saturator',
    'overdrive',
  ],
  about: 'Bends a wave to add harmonics: rounds it off, folds it back, or rectifies it.',
  settings,
  limits: [
    'Aliases lie 100 dB under the loudest partial, for sines of up to 5 kHz and, after the ' +
      'drive, 20 V (saturate and fold) or 9 V (rectify). A fold of 50 V at 5 kHz has them at ' +
      '-85 dB, saturation of 50 V there at -70 dB.',
    'Fold and rectify take twice as long to compute as saturate.',
    'The top is down by up to 0.5 dB at 20 kHz at 48 kHz, and the output comes some 5 samples ' +
      'late.',
  ],
  needs: () => [{ inputs: ['in'], otherwise: 'gives nothing' }],
  effect: 'Shaped',
  jacks: () => [
    jackIn('in', 'audio', 'What is bent.'),
    jackIn('control', 'control', 'Moves the drive; 1 V doubles it at 100 %.'),
    jackOut('out', 'audio', 'The result.'),
  ],
  role: 'circuit',
  create: (values, site) => {
    site.make(
      'shaper',
      ...['in', 'control'].map(site.input),
      site.output('out'),
      SHAPES.indexOf(values.shape),
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
