/**
 * Ladder filter: a low-pass of 24 dB an octave with a resonance that can oscillate by itself (sing).
 *
 *   out = loop(10 V f(drive in / 10 V)), f(x) = x/sqrt(1 + x^2); the loop: dsp/ladder-loop.ts
 *   k = 4 resonance, cutoff in use = cutoff 2^(control-amount x volts at control)
 *
 * The cutoff is where four equal poles lie: 12 dB down without resonance, 3 dB down at 0.435 of it.
 * Resonance takes 20 log10(1 + k) dB of the low end. At 100 % the loop is about to oscillate at the
 * cutoff; at 110 % it sings there, a sine of 5 V.
 *
 * Two parts bend. The input limits softly at 10 V: a sine of 5 V at 0 dB gets a third harmonic of
 * 3 %. The feedback limits at 5.5 V, which sets how loud it sings. All of it runs at twice the sample
 * rate, and the input's bend is averaged there (dsp/curves.ts), to keep harmonics from folding back:
 * at 48 kHz the aliases lie 120 dB under a sine driven to 50 V at 1.2 kHz, 65 dB under one at 5 kHz.
 *
 * Source: see dsp/ladder-loop.ts. Where it bends: common practice, no source.
 * Deviation: the four stages themselves are straight. A circuit's bend a little too, and its pitch
 * falls as it sings louder; here it stays.
 * Deviation: the noise of a circuit, from which its oscillation starts, is missing. A loop above 100 %
 * is already singing when the render begins, as in a cabinet that has been switched on for a while;
 * its sine starts at phase 0.
 * Deviation: as a trapezoidal rule ends at half its rate, here twice the sample rate, far above its cutoff it falls
 * faster than the analogue filter; see `limits`.
 * Deviation: the cutoff in use is never above 0.45 of the sample rate.
 * Deviation: at a rate of 48 kHz the top is down by 0.1 dB at 10 kHz and 0.5 dB at 20 kHz, by the
 * averaging, and the output comes some 4 samples late; see dsp/half-band.ts.
 */

import { controlAmount, filterInputs } from './cutoff.ts';
import { define } from './definition.ts';
import { jackOut } from './jacks.ts';

/** Highest cutoff, as a share of the rate of the loop, which is twice the render's. */
export const HIGHEST_LADDER_CUTOFF = 0.225;

const settings = {
  cutoff: {
    type: 'frequency',
    min: 5,
    max: 20_000,
    fallback: 1000,
    about: 'Where the resonance lies, with 0 V at control.',
    moved: { jack: 'control', amount: 'control-amount', highest: 2 * HIGHEST_LADDER_CUTOFF },
    tone: { as: 'colour' },
  },
  resonance: {
    type: 'percent',
    min: 0,
    max: 1.1,
    fallback: 0,
    about: 'Feedback. At 100 % the filter rings on and on; above it sings at its cutoff by itself.',
  },
  drive: {
    type: 'decibel',
    min: -24,
    max: 36,
    fallback: 0,
    about: 'Gain ahead of the input, which limits softly at 10 V.',
    tone: { as: 'colour' },
  },
  'control-amount': controlAmount,
} as const;

export const ladder = define({
  kind: 'ladder',
  about:
    'A ladder filter: a low-pass of 24 dB an octave that rounds loud signals and, with enough ' +
    'resonance, sings a sine in tune with its cutoff.',
  settings,
  limits: [
    'Above 100 % it sings from the first sample on, as one that has been switched on for a ' +
      'while.',
    'A sine of 5 kHz that is driven far into the input limit has aliases 65 dB under it; up ' +
      'to 1.2 kHz 120 dB.',
    'Far above its cutoff it falls faster than the analogue filter: down to 50 dB by at most 1.7 dB ' +
      'more up to 10 kHz and 5.6 dB up to 18 kHz at 48 kHz, 2 and 6.7 dB at 44.1 kHz, 0.4 and ' +
      '1.3 dB at 96 kHz.',
    'The cutoff in use is never above 0.45 of the sample rate.',
  ],
  needs: () => [{ inputs: ['in'], otherwise: 'gives nothing' }],
  filters: 'in',
  effect: 'Filtered',
  jacks: () => [...filterInputs(), jackOut('out', 'audio', 'What is below the cutoff.')],
  role: 'circuit',
  create: (values, site) => {
    site.make(
      'ladder',
      ...['in', 'control'].map(site.input),
      site.output('out'),
      values.cutoff,
      values.resonance,
      values.drive,
      values['control-amount'],
      site.sampleRate,
    );
  },
  example: `title: Ladder filter
about: A ringing filter, struck by a gate and swept by an envelope, makes a small tom.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [tom], gate: 12 ms, patterns: { groove: { tom: "x-xx-xx-" } }, song: [groove] }
  split: { kind: multiple }
  bend:  { kind: envelope, decay: 60 ms, release: 60 ms }
  body:  { kind: ladder, cutoff: 90 Hz, resonance: 97 %, drive: 12 dB, control-amount: 30 % }
  out:   { kind: output }
cables:
  - drums.tom   -> split.in
  - split.out-1 -> body.in
  - split.out-2 -> bend.trigger
  - bend.out    -> body.control
  - body.out    -> out.left
`,
});
