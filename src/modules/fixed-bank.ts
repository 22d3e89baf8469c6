/**
 * Fixed filter bank: narrow band-passes side by side, each with its own level.
 *
 *   out = sum over the bands of level x H(f)
 *   H = (s b)/(s^2 + s b + 1), s = j f/fm, b = 10^0.05 - 10^-0.05 = 1/q, so q = 4.32
 *   fm = 1000 Hz x 10^(x/10), x = -13..12: 50 Hz to 16 kHz; 3 dB down at fm 10^-0.05 and fm 10^0.05
 *
 * Each is a third of an octave wide between its -3 dB points, where its neighbours meet it a quarter
 * turn apart, so that they add up evenly: with all levels alike the bank passes everything from 60 Hz
 * to 13 kHz 2.2 to 5.5 dB up. Settings carry the nominal names of the bands, which are rounded:
 * level-63 is centred on 63.1 Hz.
 *
 * Each band follows its analogue response, skirts and all, within 0.4 dB to 18 kHz at 48 kHz:
 * dsp/matched.ts of the circuits.
 *
 * Source: midbands, edges and nominal names: IEC 61260-1:2014, clause 5 and annex (from memory);
 * Vicanek, "Matched second order digital filters" (2016; from memory).
 * Deviation: two poles a band, as such banks have (common practice, no source); a measuring filter of
 * that standard is far steeper.
 * Deviation: a band whose upper edge lies above 0.45 of the sample rate is silent.
 */

import { define, type NumberSpec } from './definition.ts';
import { exp2 } from './dsp/math.ts';
import { jackIn, jackOut } from './jacks.ts';

/** Nominal midbands, Hz, from x = -13 on. */
const NOMINAL = [
  50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150,
  4000, 5000, 6300, 8000, 10_000, 12_500, 16_000,
];
const FIRST = -13;
/** The level that turns a band off. */
const OFF = -60;
/** Highest upper edge, as a share of the sample rate. */
const HIGHEST_EDGE = 0.45;
/** A third of a decade of base-ten bands, in octaves: log2(10)/10. */
const THIRD = 0.3321928094887362;

const settings: Readonly<Record<string, NumberSpec>> = Object.fromEntries(
  NOMINAL.map((hertz) => [
    `level-${hertz}`,
    {
      type: 'decibel',
      min: OFF,
      max: 12,
      fallback: 0,
      about: `Level of the band around ${hertz} Hz; -60 dB turns it off.`,
    },
  ]),
);

export const fixedBank = define({
  kind: 'fixed-bank',
  alsoCalled: ['filter-bank', 'filterbank', 'equalizer', 'equaliser', 'eq'],
  about:
    'A bank of fixed filters, a third of an octave each, with a level for every band: gives a ' +
    'drum a body, or takes one away.',
  settings,
  limits: [
    'Each band is within 0.4 dB of the analogue two-pole to 18 kHz at 48 kHz, skirts and all.',
    'A band whose upper edge lies above 0.45 of the sample rate is silent.',
  ],
  needs: () => [{ inputs: ['in'], otherwise: 'gives nothing' }],
  filters: 'in',
  scales: ['in'],
  effect: 'Filtered',
  jacks: () => [
    jackIn('in', 'audio', 'What is filtered.'),
    jackOut('out', 'audio', 'The bands, added up.'),
  ],
  role: 'circuit',
  create: (values, site) => {
    const made = site.make('fixedBank', site.input('in'), site.output('out'));
    NOMINAL.forEach((nominal, k) => {
      const level = values[`level-${nominal}`] ?? 0;
      const midband = (1000 / site.sampleRate) * exp2((FIRST + k) * THIRD);
      if (level <= OFF || midband * exp2(THIRD / 2) > HIGHEST_EDGE) return;
      site.call('fixedBankBand', made, level, midband, 1 / (exp2(THIRD / 2) - exp2(-THIRD / 2)));
    });
  },
  example: `title: Fixed filter bank
about: Noise with a body at 200 Hz and a rattle at 5 kHz makes a plain snare.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [snare], gate: 10 ms, patterns: { groove: { snare: "--x---x-" } }, song: [groove] }
  hiss:  { kind: noise }
  shape: { kind: envelope, decay: 180 ms, release: 180 ms }
  level: { kind: amplifier }
  body:  { kind: fixed-bank, level-50: -60 dB, level-63: -60 dB, level-80: -60 dB, level-200: 12 dB, level-630: -12 dB, level-800: -12 dB, level-5000: 6 dB }
  out:   { kind: output }
cables:
  - drums.snare -> shape.trigger
  - hiss.white  -> level.in
  - shape.out   -> level.control
  - level.out   -> body.in
  - body.out    -> out.left
`,
});
