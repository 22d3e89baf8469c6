/**
 * Cluster: two to eight pulse oscillators at inharmonic ratios, the raw sound of metal.
 *
 *   frequency k = base x ratio k x 2^(pitch), pitch in volts, k = 1..n
 *   low  = 10 V / n x (pulse 1 + ... + pulse h), pulses of +1 and -1, h = n / 2, rounded up
 *   high = 10 V / n x (pulse h + 1 + ... + pulse n)
 *   out  = low + high
 *
 * A string's modes lie at 1, 2, 3 ... times the lowest, and fuse into a pitch. Those of a plate do not:
 * its stiffness carries short waves faster than long ones, so that its modes fit no scale, and one hears
 * metal. Unless set, the ratios are those of the six lowest modes of a flat round plate with a free
 * edge, as a cymbal would be if it were flat: roots of Kirchhoff's plate equation, Poisson's ratio 0.33.
 *
 *   drawn n: ratio k = 1 + (highest - 1) x (k - 1 + u) / n, u drawn evenly from 0 to 1
 *
 * Drawn ratios are one from each of n bands of equal width in Hz, since a plate of any shape has as
 * many modes in one such band as in the next. They have three decimals, so that they can be set elsewhere.
 *
 * The pulses are band limited: see dsp/corrections.ts of the circuits. Alias products below 20 kHz lie 100 dB and
 * more under the strongest partial, for oscillators up to 5 kHz.
 *
 * Source: Leissa, Vibration of Plates, NASA SP-160 (1969), ch. 2, plates with a free edge (from
 * memory; the ratios here are computed again from its frequency equation, as a test does again).
 * Modal density of plates: Cremer, Heckl & Ungar, Structure-Borne Sound, 2nd ed. (1988), ch. IV (from
 * memory). That cymbals follow the plate only in their lowest modes: Fletcher & Rossing, The Physics of
 * Musical Instruments, 2nd ed. (1998), ch. 20 (from memory).
 * Deviation: a cymbal is not flat and has hundreds of modes; a few pulses stand in for them with their
 * harmonics. Struck hard it also feeds its high modes from its low ones, so that its sound brightens
 * after the stroke; here a filter and an envelope have to do that.
 * Deviation: edges ring for a few samples, by up to a fifth of the jump. Where all edges fall together, out
 * reaches the supply rails, which clip it.
 * Deviation: the waves are 3 samples late, the delay of the band-limiting.
 * Deviation: a frequency stops at 0.45 of the sample rate.
 * Deviation: no drift. The phases at the start are random, but the same for the same seed.
 */

import { define, type FormerSettings, type Site, type Values } from './definition.ts';
import { Random } from './dsp/random.ts';
import { usualVolts } from './facts.ts';
import { jackIn, jackOut } from './jacks.ts';

const FEWEST = 2;
const MOST = 8;
/** V, either side of ground, of all oscillators together. */
const SWING = 10;
const PLATE = [1, 1.723, 2.327, 3.898, 4.091, 6.283];

const settings = {
  base: {
    type: 'frequency',
    min: 1,
    max: 5000,
    fallback: 300,
    about: 'Frequency of a ratio of 1, with 0 V at pitch.',
    moved: { jack: 'pitch' },
    tone: { as: 'pitch' },
  },
  ratios: {
    type: 'row',
    unit: 'number',
    min: 0.1,
    max: 20,
    shortest: FEWEST,
    longest: MOST,
    fallback: PLATE,
    about:
      'Frequencies of the oscillators over base. Unless set, they are those of the six lowest modes ' +
      'of a flat round plate with a free edge, as a cymbal would be if it were flat.',
  },
  drawn: {
    type: 'choice',
    options: ['none', '2', '3', '4', '5', '6', '7', '8'],
    fallback: 'none',
    about:
      'Oscillators whose ratios the seed draws, in place of ratios: one from each of so many equal ' +
      'bands of frequency between 1 and highest, since a plate has as many modes in one as in the next.',
  },
  highest: {
    type: 'number',
    min: 1.5,
    max: 20,
    fallback: 6.3,
    about: 'No drawn ratio is higher.',
  },
  width: {
    type: 'percent',
    min: 0.05,
    max: 0.95,
    fallback: 0.5,
    about: 'Part of each period for which a pulse is high. Other than 50 % it is a little denser.',
    tone: { as: 'colour' },
  },
} as const;

const sixRatios: FormerSettings = {
  names: PLATE.map((_, k) => `ratio-${k + 1}`),
  now: 'ratios',
  write: (words) => {
    const list = PLATE.map((ratio, k) => words.get(`ratio-${k + 1}`) ?? ratio);
    return [`ratios: [${list.join(', ')}]`];
  },
};

export const cluster = define({
  kind: 'cluster',
  about:
    'Two to eight pulse oscillators whose frequencies fit no scale, as the modes of a metal plate do ' +
    'not: filtered and shaped, a hat, a cymbal or a bell.',
  settings,
  sizes: {
    oscillators: {
      about: 'Oscillators that it has.',
      most: MOST,
      from: ['drawn', 'ratios'],
      of: ({ ratios, drawn }) => countOf(ratios, drawn),
    },
  },
  former: { settings: [sixRatios] },
  jacks: ({ ratios, drawn }) => {
    const count = countOf(ratios, drawn);
    const half = firstHalf(count);
    const part = (oscillators: number) => {
      const most = (SWING * oscillators) / count;
      return usualVolts(-most, most);
    };
    return [
      jackIn('pitch', 'pitch', 'Moves all of them, one volt an octave.'),
      jackOut('out', 'audio', 'All of them.', usualVolts(-SWING, SWING)),
      jackOut('low', 'audio', 'The first half of them; of an odd number, one more.', part(half)),
      jackOut('high', 'audio', 'The others.', part(count - half)),
    ];
  },
  role: 'circuit',
  isSeeded: true,
  draws,
  create: (values, site) => {
    const { ratios } = { ...values, ...draws(values, site.seeds) };
    const made = site.make(
      'cluster',
      site.input('pitch'),
      ...['out', 'low', 'high'].map(site.heard),
      ratios.length,
      firstHalf(ratios.length),
      SWING / ratios.length,
      values.width,
      ...site.seeds('phases'),
    );
    for (const [k, ratio] of ratios.entries())
      site.call('clusterTune', made, k, (ratio * values.base) / site.sampleRate);
  },
  example: `title: Cluster
about: Six pulses, high-passed and cut short - a metal hat.
modules:
  drums:  { kind: rhythm, tempo: 120 bpm, channels: [hat], gate: 10 ms, patterns: { groove: { hat: "x-x-x-xx" } }, song: [groove] }
  metal:  { kind: cluster }
  bright: { kind: filter, cutoff: 5 kHz, q: 2 }
  shape:  { kind: envelope, decay: 260 ms, release: 260 ms }
  level:  { kind: amplifier }
  out:    { kind: output }
cables:
  - drums.hat   -> shape.trigger
  - metal.out   -> bright.in
  - bright.high -> level.in
  - shape.out   -> level.control
  - level.out   -> out.left
`,
});

function draws(
  { drawn, highest }: Values<typeof settings>,
  seeds: Site['seeds'],
): { readonly ratios?: readonly number[] } {
  if (drawn === 'none') return {};
  const random = new Random(Uint32Array.from(seeds('ratios')));
  return { ratios: drawnRatios(Number(drawn), highest, random) };
}

/**
 * Draws ratios, one from each of as many bands of equal width between 1 and the highest.
 * @param count how many, from 1.
 * @param highest upper limit of the ratios, above 1.
 * @returns them in rising order.
 */
export function drawnRatios(count: number, highest: number, random: Random): readonly number[] {
  return Array.from({ length: count }, (_, band) => {
    const ratio = 1 + ((highest - 1) * (band + random.uniform())) / count;
    return Math.round(1000 * ratio) / 1000;
  });
}

function countOf(ratios: readonly number[], drawn: string): number {
  return drawn === 'none' ? ratios.length : Number(drawn);
}

/** How many of the oscillators are at `low`. */
function firstHalf(count: number): number {
  return Math.ceil(count / 2);
}
