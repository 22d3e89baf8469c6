/**
 * Frequency shifter: moves every partial by the same number of hertz, up and down at once.
 *
 *   up   = i cos(2 pi phase) - q sin(2 pi phase)
 *   down = i cos(2 pi phase) + q sin(2 pi phase)
 *   the phase goes by shift + per-volt x volts at control, Hz, through zero and beyond
 *
 * i and q are the input through two chains of all-passes, a quarter of a turn apart at every frequency
 * between 15 Hz and 15 Hz under half the sample rate: a Hilbert pair. So a partial at f comes out at
 * f + shift alone (single sideband), its image at f - shift this much weaker: 109 dB at rates of 44.1
 * and 48 kHz, 99 dB at 96 kHz, 91 dB at 192 kHz. Nearer to 0 Hz it is worse: 25 dB at 5 Hz.
 *
 * Since partials keep their distances, not their ratios, a tuned drum turns to metal. A partial that
 * would go below 0 Hz turns back there and goes up again.
 *
 *   chains: of sections (c - z^-2)/(1 - c z^-2), one of them behind z^-1: an elliptic half-band filter
 *   of 20 coefficients, turned by a quarter of the sample rate.
 *
 * Both are multiplied at twice the sample rate (dsp/half-band), so that what is shifted beyond half the
 * sample rate does not fold back.
 *
 * Source: Oppenheim & Schafer, Discrete-Time Signal Processing, 3rd ed., 12.4: single sideband by a
 * Hilbert pair of all-passes. Ansari, "IIR discrete-time Hilbert transformers", IEEE Trans. ASSP 35
 * (1987) 1116: the pair as a half-band filter turned by a quarter. Coefficients as in Valenzuela &
 * Constantinides, IEE Proc. G 130 (1983) 225, by the nome of Abramowitz & Stegun 17.3.17 (all from memory).
 * Deviation: the chains delay low tones more than high ones: a tone of 50 Hz by 11 ms, one of 1 kHz by
 * 0.7 ms, as the phase networks of a circuit do.
 * Deviation: the oscillator does not leak through; a circuit leaves a trace of it.
 * Deviation: what comes in between 20 kHz and half the sample rate is cut (see dsp/half-band).
 */

import { define } from './definition.ts';
import { cosTurns, exp, sinTurns, tanTurns } from './dsp/math.ts';
import { jackIn, jackOut } from './jacks.ts';

/** All-passes in both chains together. */
const SECTIONS = 20;
/** Hz, the lowest frequency at which the pair holds. */
const LOWEST = 15;

export const frequencyShifter = define({
  kind: 'frequency-shifter',
  alsoCalled: ['shifter'],
  about:
    'Moves all partials of a sound up, and down, by the same hertz: a few make it waver and beat, ' +
    'hundreds turn a drum to metal.',
  settings: {
    shift: {
      type: 'frequency',
      min: 0,
      max: 10_000,
      fallback: 100,
      about: 'How far, with 0 V at control.',
    },
    'per-volt': {
      type: 'frequency',
      min: 0,
      max: 2000,
      fallback: 100,
      about: 'How much further for each volt at control; below zero up and down change places.',
    },
  },
  needs: () => [{ inputs: ['in'], otherwise: 'gives nothing' }],
  effect: 'Shifted in frequency',
  scales: ['in'],
  jacks: () => [
    jackIn('in', 'audio', 'What is shifted.'),
    jackIn('control', 'control', 'Moves the shift, so many hertz a volt.'),
    jackOut('up', 'audio', 'Every partial so much higher.'),
    jackOut('down', 'audio', 'Every partial so much lower.'),
  ],
  role: 'circuit',
  create: (values, site) => {
    const made = site.make(
      'frequencyShifter',
      ...['in', 'control'].map(site.input),
      ...['up', 'down'].map(site.heard),
      values.shift,
      values['per-volt'],
      site.sampleRate,
    );
    const coefficients = hilbertPair(SECTIONS, LOWEST / site.sampleRate);
    for (let k = 0; k < SECTIONS; k += 2)
      site.call('frequencyShifterSection', made, coefficients[k] ?? 0, coefficients[k + 1] ?? 0);
  },
  example: `title: Frequency shifter
about: A tuned drum turned to metal, the more the harder it is struck.
modules:
  drums: { kind: rhythm, tempo: 120 bpm, channels: [tom], gate: 10 ms, patterns: { groove: { tom: "x--x--X-" } }, song: [groove] }
  head:  { kind: resonator, tune: 19 st, decay: 500 ms }
  metal: { kind: frequency-shifter, shift: 70 Hz, per-volt: 60 Hz }
  out:   { kind: output }
cables:
  - drums.tom        -> head.strike
  - head.out         -> metal.in
  - drums.tom-accent -> metal.control
  - metal.up         -> out.left
`,
});

/**
 * Computes the all-pass coefficients of a Hilbert pair: those of an elliptic half-band filter whose
 * bands begin `edge` from the middle of its transition either way.
 * @param count how many; the even ones make one chain, the odd ones the other.
 * @param edge lowest frequency at which the pair holds, as a fraction of the sample rate, below 0.25.
 * @returns from 0 to 1, rising.
 */
export function hilbertPair(count: number, edge: number): readonly number[] {
  const tangent = tanTurns(0.5 * (0.25 - edge));
  const k = tangent * tangent;
  // The nome: exp(-pi K'/K), each integral by the arithmetic-geometric mean.
  const nome = exp((-Math.PI * meanOf(1, Math.sqrt(1 - k * k))) / meanOf(1, k));
  const order = 2 * count + 1;
  return Array.from({ length: count }, (_, i) => {
    const turns = (i + 1) / (2 * order);
    let upper = sinTurns(turns);
    let lower = 0.5;
    // Theta functions: the powers of the nome n^2 and n (n + 1).
    let square = 1;
    let odd = nome;
    let sign = -1;
    for (let n = 1; n <= TERMS; n++) {
      square *= odd;
      odd *= nome * nome;
      lower += sign * square * cosTurns(2 * n * turns);
      upper += sign * square * power(nome, n) * sinTurns((2 * n + 1) * turns);
      sign = -sign;
    }
    const w = (Math.sqrt(Math.sqrt(nome)) * upper) / lower;
    const x = Math.sqrt((1 - w * w * k) * (1 - (w * w) / k)) / (1 + w * w);
    return (1 - x) / (1 + x);
  });
}

/** Terms of a theta function: the nome of a band from 15 Hz at 192 kHz is 0.33, and 0.33^100 is negligible. */
const TERMS = 10;

function power(base: number, exponent: number): number {
  let product = 1;
  for (let n = 0; n < exponent; n++) product *= base;
  return product;
}

/** Computes the arithmetic-geometric mean of two positive numbers (Abramowitz & Stegun 17.6). */
function meanOf(a: number, b: number): number {
  let arithmetic = a;
  let geometric = b;
  for (let round = 0; round < 12; round++)
    [arithmetic, geometric] = [0.5 * (arithmetic + geometric), Math.sqrt(arithmetic * geometric)];
  return arithmetic;
}
