/**
 * Compressor: turns down sound that is louder than a threshold, and so evens out a drum.
 *
 *   x = 20 log10(|volts|/threshold), volts at side-chain or, without a plug there, at in
 *   r = 0                             below the knee, 2 x < -knee
 *   r = (1 - 1/ratio) (x + knee/2)^2/(2 knee)   within it, 2 |x| <= knee
 *   r = (1 - 1/ratio) x               above it
 *   h = max(r, h decays towards r with time constant release)
 *   reduction = h followed with time constant attack
 *   out = in x 10^((make-up - reduction)/20)
 *
 * All times are time constants: after a step up, 63 % of the reduction is there after `attack`. After
 * a step down it goes by (release e^(-t/release) - attack e^(-t/attack))/(release - attack). Since h
 * holds from one crest of a wave to the next, a steady wave is reduced by what the curve says of its
 * crests, as long as release is much longer than a period; a release near a period follows the wave
 * itself and bends it.
 *
 * Source: Giannoulis, Massberg & Reiss, "Digital dynamic range compressor design: a tutorial and
 * analysis", J. Audio Eng. Soc. 60 (2012) 399: the feed-forward design, the static curve with its
 * quadratic knee, and the smooth decoupled peak detector, placed behind the curve in decibels (from
 * memory).
 * Deviation: the level is that of the samples; a crest between two of them is missed. Of a sine at a
 * tenth of the sample rate that is 0.44 dB at most.
 * Deviation: the gain is ideal, without the noise and distortion of a circuit.
 */

import { define } from './definition.ts';
import { usualVolts } from './facts.ts';
import { jackIn, jackOut } from './jacks.ts';

/** V a decibel at the jack `reduction`. */
const VOLTS_A_DECIBEL = 0.1;

export const compressor = define({
  kind: 'compressor',
  alsoCalled: ['limiter', 'ducker'],
  about:
    'Turns down what is louder than its threshold: evens out a line, hardens a drum, or lets one ' +
    'voice duck another by the side chain.',
  settings: {
    threshold: {
      type: 'voltage',
      min: 0.005,
      max: 12,
      fallback: 2,
      about: 'The crest, above or below 0 V, from which it turns down.',
    },
    ratio: {
      type: 'number',
      min: 1,
      max: 100,
      fallback: 4,
      about:
        'Decibels over the threshold that leave one decibel over it. 1 does nothing, 100 limits.',
    },
    knee: {
      type: 'decibel',
      min: 0,
      max: 36,
      fallback: 6,
      about: 'Width of the bend about the threshold; 0 dB is a corner.',
    },
    attack: {
      type: 'time',
      min: 0.000_02,
      max: 1,
      fallback: 0.005,
      about: 'Time constant of turning down: 63 % of the way. Longer leaves a stroke its start.',
    },
    release: {
      type: 'time',
      min: 0.001,
      max: 5,
      fallback: 0.12,
      about: 'Time constant of coming back. Near the period of a low tone it bends the wave.',
    },
    'make-up': {
      type: 'decibel',
      min: -40,
      max: 40,
      fallback: 0,
      about: 'Gain behind it. Noise between strokes comes up with it.',
    },
  },
  needs: () => [{ inputs: ['in'], otherwise: 'gives nothing', output: 'out' }],
  multiplies: { out: ['in'] },
  effect: 'Compressed',
  jacks: () => [
    jackIn('in', 'audio', 'What is turned down.'),
    jackIn(
      'side-chain',
      'audio',
      'What decides, in place of in: a kick here ducks whatever is at in.',
    ),
    jackOut('out', 'audio', 'The same, evened out.'),
    jackOut(
      'reduction',
      'control',
      'By how much it turns down: 0.1 V a decibel.',
      usualVolts(0, 5),
    ),
  ],
  role: 'circuit',
  create: (values, site) => {
    site.make(
      'compressor',
      site.input('in'),
      site.input(site.patched('side-chain') ? 'side-chain' : 'in'),
      site.heard('out'),
      site.heard('reduction'),
      values.threshold,
      values.ratio,
      values.knee,
      values.attack,
      values.release,
      values['make-up'],
      VOLTS_A_DECIBEL,
      site.sampleRate,
    );
  },
  example: `title: Compressor
about: A low drum whose stroke no longer sticks out, and whose tail comes up.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [tom], gate: 10 ms, patterns: { groove: { tom: "x--x--x-" } }, song: [groove] }
  head:  { kind: resonator, tune: 7 st, decay: 600 ms }
  even:  { kind: compressor, threshold: 1 V, ratio: 4, attack: 8 ms, release: 150 ms, make-up: 6 dB }
  out:   { kind: output }
cables:
  - drums.tom -> head.strike
  - head.out  -> even.in
  - even.out  -> out.left
`,
});
