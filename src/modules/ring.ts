/**
 * Ring modulator: the product of two signals, whatever their signs.
 *
 *   out = a b / 5 V
 *
 * Two sines give the sum and the difference of their frequencies and neither of themselves, so two
 * harmonic tones make an inharmonic one. The product of two bands is twice as wide: it is worked
 * out at twice the sample rate, which is exactly enough, and what lies beyond hearing is filtered
 * out before it can fold back.
 *
 * Source: sin a sin b = (cos(a - b) - cos(a + b))/2: Abramowitz & Stegun 4.3.31. Full scale at 5 V:
 * common practice, no source.
 * Deviation: nothing of either input leaks through; a circuit leaves some of both, 40 to 60 dB down
 * (common practice, no source).
 * Deviation: the output comes some 4 samples late; see dsp/half-band.ts.
 */

import { define } from './definition.ts';
import { jackIn, jackOut } from './jacks.ts';

export const ring = define({
  kind: 'ring',
  alsoCalled: ['ring-modulator', 'ringmod', 'rm', 'multiplier'],
  about:
    'A ring modulator: multiplies two signals. Two tones give their sum and difference ' +
    'frequencies, as bells and metal have; 5 V at one input lets the other through as it is.',
  settings: {},
  needs: () => [
    { inputs: ['a'], otherwise: 'gives nothing' },
    { inputs: ['b'], otherwise: 'gives nothing' },
  ],
  effect: 'Multiplied',
  jacks: () => [
    jackIn('a', 'audio', 'One factor.'),
    jackIn('b', 'audio', 'The other factor.'),
    jackOut('out', 'audio', 'Their product over 5 V.'),
  ],
  role: 'circuit',
  create: (_, site) => {
    site.make('ring', site.input('a'), site.input('b'), site.output('out'));
  },
  example: `title: Ring modulator
about: Two sines a fifth and a bit apart make a small bell.
modules:
  drums: { kind: rhythm, tempo: 110 bpm, channels: [bell], gate: 10 ms, patterns: { groove: { bell: "x--x--x-" } }, song: [groove] }
  low:   { kind: oscillator, tune: 36 st }
  high:  { kind: oscillator, tune: 43.5 st }
  clang: { kind: ring }
  shape: { kind: envelope, decay: 800 ms, release: 800 ms }
  level: { kind: amplifier, response: exponential }
  out:   { kind: output }
cables:
  - drums.bell -> shape.trigger
  - low.sine   -> clang.a
  - high.sine  -> clang.b
  - clang.out  -> level.in
  - shape.out  -> level.control
  - level.out  -> out.left
`,
});
