/**
 * Low-pass gate: an opto-coupler, a lamp that shines on a photocell, shuts a sound off in level and
 * brightness together.
 *
 *   dn/dt  = ((1 + b) light - b n - n^2)/tau,  light = V at control / unity, between 0 and 2, b = 0.05
 *   level  = n, cutoff in use = cutoff x n (and never under 1/10000 of it)
 *   out    = n L{in} (both), L{in} (low-pass), n in (level);  L is low of the filter kind, with q
 *
 * n is the conductance of the cell, 1 with steady `unity`. Its carriers recombine with one another (n^2), the
 * faster the more there are, and by centres in the cell (b n). So it opens fast, the faster the more light,
 * and shuts at a speed that depends on how far it is open: fast at first, then slower and
 * slower, (n + b)/tau at each moment. In the dark n = 1/(1 + t/tau) at first, and exp(-b t/tau) at
 * last. tau is one for opening and another for shutting, chosen so that `rise` is the time from dark to
 * 90 % with `unity` volts, and `fall` that from 100 % to 10 % in the dark. Each sample is the closed
 * form: with m = n + b/2 and s^2 = (1 + b) light + b^2/4, m goes to (m + s T)/(1 + m T/s), T = tanh(s dt/tau).
 *
 * Source: recombination of two carriers and by centres: Rose, Concepts in Photoconductivity and Allied
 * Problems (Interscience, 1963); Bube, Photoconductivity of Solids (Wiley, 1960). That such a cell opens
 * within milliseconds and shuts within tens to hundreds: data sheets of photoconductive opto-couplers
 * (all from memory). b is chosen, no source: at 5 % the last of a tail is 21 times slower than its start.
 * Deviation: a cell shuts more slowly than it opens since traps hold its carriers for a while; here two
 * time constants stand for that. It does not remember the light of minutes ago, as a real one does.
 * Deviation: the lamp lights from 0 V on. Level is fully shut in the dark.
 * Deviation: cutoff in use is never above 0.45 of the sample rate.
 */

import { TRIED_Q } from './cutoff.ts';
import { define } from './definition.ts';
import { log } from './dsp/math.ts';
import { jackIn, jackOut } from './jacks.ts';

/** Rate of recombination by centres; that of carriers with one another is 1. */
const PROPORTIONAL = 0.05;
/** The most light; the light of unity is 1. */
const MOST_LIGHT = 2;
/** The ends of rise and fall: shares of the conductance with steady unity. */
const RISEN = 0.9;
const FALLEN = 0.1;

const settings = {
  mode: {
    type: 'choice',
    options: ['both', 'low-pass', 'level'],
    fallback: 'both',
    about: 'What the cell shuts: brightness and level, or one of them.',
  },
  cutoff: {
    type: 'frequency',
    min: 20,
    max: 22_000,
    fallback: 8000,
    about: 'Of the low-pass, open: with steady unity volts.',
    tone: { as: 'colour' },
  },
  q: {
    type: 'number',
    min: 0.5,
    max: 10,
    fallback: 0.5,
    about: 'Resonance of the low-pass: its gain at the cutoff. 0.5 never rings.',
    tone: { as: 'colour', most: TRIED_Q },
  },
  unity: {
    type: 'voltage',
    min: 1,
    max: 10,
    fallback: 5,
    about: 'The control voltage that opens it fully; twice as much is the most it takes.',
  },
  rise: {
    type: 'time',
    min: 0.0001,
    max: 1,
    fallback: 0.003,
    about: 'From dark to 90 % with unity volts; with less it is slower.',
  },
  fall: {
    type: 'time',
    min: 0.001,
    max: 10,
    fallback: 0.15,
    toldBy: 'shutting',
    about: 'From open to 10 %, in the dark; the rest falls slower and slower.',
  },
} as const;

export const lowPassGate = define({
  kind: 'low-pass-gate',
  alsoCalled: ['lpg'],
  about:
    'Shuts a sound off as a lamp and a photocell do: fast open, then darker and softer together, ' +
    'slower and slower. A gate alone makes a struck sound of a steady one.',
  settings,
  needs: () => [
    { inputs: ['in'], otherwise: 'gives nothing' },
    { inputs: ['control'], otherwise: 'stays shut' },
  ],
  multiplies: { out: ['in'] },
  opened: ({ mode, unity }, volts) => {
    const gain = mode === 'low-pass' ? 1 : cellConductance(volts, unity);
    return { law: gain, gain, unity };
  },
  lags: true,
  effect: 'Struck and damped',
  jacks: () => [
    jackIn('in', 'audio', 'What is shut off.'),
    jackIn('control', 'control', 'Lights the lamp: a gate, an accent or an envelope.'),
    jackOut('out', 'audio', 'What comes through.'),
  ],
  role: 'circuit',
  create: (values, site) => {
    const { mode, unity, cutoff, q } = values;
    const { rise, fall } = cellTimes(values.rise, values.fall);
    site.make(
      'lowPassGate',
      ...['in', 'control'].map(site.input),
      site.output('out'),
      mode !== 'level',
      mode !== 'low-pass',
      unity,
      PROPORTIONAL,
      1 / (rise * site.sampleRate),
      1 / (fall * site.sampleRate),
      cutoff / site.sampleRate,
      q,
    );
  },
  example: `title: Low-pass gate
about: A gate of 6 ms strikes a steady tone, which gets darker as it dies away, as a hand drum does.
modules:
  drums: { kind: rhythm, tempo: 110 bpm, channels: [drum], gate: 6 ms, patterns: { groove: { drum: "x--x--x-xx--x---" } }, song: [groove] }
  tone:  { kind: oscillator, at-zero: 180 Hz }
  hand:  { kind: low-pass-gate, fall: 90 ms }
  out:   { kind: output }
cables:
  - drums.drum    -> hand.control
  - tone.triangle -> hand.in
  - hand.out      -> out.left
`,
});

/**
 * Gives the time constants of a cell.
 * @param rise s, from dark to 90 % with the light of unity.
 * @param fall s, from 100 % to 10 % in the dark.
 * @returns s.
 */
function cellTimes(rise: number, fall: number): { rise: number; fall: number } {
  const half = PROPORTIONAL / 2;
  // With the light of unity m goes to 1 + b/2 as tanh does, in the dark to b/2 as its reciprocal does.
  const open = 1 + half;
  const opening = (artanh((RISEN + half) / open) - artanh(half / open)) / open;
  const shutting = (artanh(half / (FALLEN + half)) - artanh(half / (1 + half))) / half;
  return { rise: rise / opening, fall: fall / shutting };
}

/**
 * Gives the conductance of the cell in steady light: the gain of the level.
 * @param volts V at control.
 * @param unity V, above 0.
 * @returns from 0, dark, to 1.42 with twice unity or more.
 */
export function cellConductance(volts: number, unity: number): number {
  const light = (1 + PROPORTIONAL) * Math.min(Math.max(volts / unity, 0), MOST_LIGHT);
  // The root of n^2 + b n = light, without a difference of two nearly equal numbers.
  const half = PROPORTIONAL / 2;
  return light / (half + Math.sqrt(light + half * half));
}

function artanh(x: number): number {
  return 0.5 * log((1 + x) / (1 - x));
}
