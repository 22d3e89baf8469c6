/**
 * Reverberator: a small room or a plate, from one network of sixteen delays.
 *
 *   y = the outputs of the delays, each through its absorption A(z) = g (1 - p)/(1 - p z^-1)
 *   the inputs of the delays = H y + b u, H the Hadamard matrix over 4, which keeps all energy
 *   wet left = l y, wet right = r y, with b, l and r of plus and minus signs, l and r orthogonal
 *   out = (1 - mix) in + mix wet
 *
 * Each delay of n samples loses 60 dB n/(rate x decay) a round, so that low and middle tones fall by
 * 60 dB in `decay`, and at `damping` twice as much, so that it takes half as long there. g and p are
 * the two numbers of A that do both. The wet side has the energy of its input: of white noise as much
 * comes out as goes in, except what damping takes; a longer decay is longer and softer.
 *
 *   room:  u = in, behind pre-delay. Each delay is a way from wall to wall: `size` on average, from
 *          0.55 to 1.65 of it. The first sixteen reflections are heard one by one.
 *   plate: u also goes through four all-passes (g + z^-n)/(1 + g z^-n), so that it is dense from the
 *          start, and each delay holds four of (a + z^-1)/(1 + a z^-1), which add 0.3 of `size` at
 *          low frequencies and next to nothing at high ones: high tones run ahead, as they do in thin
 *          metal.
 *
 * The lengths are different prime numbers of samples, and they and the signs are drawn by the patch's
 * seed and the module's name. Steady volts do not come through the wet side: a high-pass at 10 Hz
 * removes them. As H keeps all energy and each A is below 1 at every frequency, nothing can grow.
 *
 * Source: Jot & Chaigne, "Digital delay networks for designing artificial reverberators", 90th AES
 * Convention (1991) 3030: the network, and absorption by the delay's length. Schroeder, "Natural
 * sounding artificial reverberation", J. Audio Eng. Soc. 10 (1962) 219: all-passes that make it dense.
 * Van Duyne & Smith, "A simplified approach to modeling dispersion caused by stiffness in strings and
 * plates", Proc. ICMC (1994) 407: first-order all-passes for dispersion (all from memory). The signs, bounds and
 * numbers of delays are chosen, no source.
 * Deviation: the modes of the network follow from its lengths, not from any one room; there are `size` x 16 of
 * them to a hertz, so that under 4 ms long decays of single tones ring on.
 * Deviation: reflections have no direction of their own, only more left or more right.
 * Deviation: a plate's delays are longer at low frequencies: its decay is the stated one at 700 Hz,
 * and under 200 Hz it rings up to a quarter longer.
 * Deviation: in thin metal the delay goes on falling with the root of frequency; here it falls once.
 * Deviation: damping is never above 0.45 of the sample rate.
 */

import { define } from './definition.ts';
import { cosTurns, exp, exp2 } from './dsp/math.ts';
import { Random } from './dsp/random.ts';
import { jackIn, jackOut } from './jacks.ts';

/** Delays in the network. */
const LINES = 16;
/** The shortest delay over `size`, and octaves to the longest: 1.65. Lengths spread so have a mean of 1.001. */
const SHORTEST = 0.55;
const SPREAD = 1.584962500721156;
/** Highest damping in use, as a fraction of the sample rate. */
const HIGHEST_DAMPING = 0.45;
/** 60 dB in powers of two: log2(1000). */
const SIXTY_DB = 9.965784284662087;
/** The diffusing all-passes of a plate: their delays over `size`, and their highest gain. */
const DIFFUSERS = [0.09, 0.14, 0.23, 0.37];
const DIFFUSION = 0.7;
/** The dispersing all-passes of a plate: how many to a delay, and their delay at low frequencies over `size`. */
const DISPERSERS = 4;
const DISPERSION = 0.3;
/** Hz, the middle of the two octaves that a decay is stated for. */
const MIDDLE_HERTZ = 700;
/** Hz, the corner of the high-pass ahead of the network. */
const LOWEST_HERTZ = 10;

const settings = {
  model: {
    type: 'choice',
    options: ['room', 'plate'],
    fallback: 'room',
    about:
      'room: reflections that thicken. plate: dense from the start, its highs ahead, as thin metal.',
  },
  size: {
    type: 'time',
    min: 0.002,
    max: 0.04,
    fallback: 0.009,
    about: 'Mean time from wall to wall: 1 ms is 34 cm of air.',
  },
  decay: {
    type: 'time',
    min: 0.05,
    max: 30,
    fallback: 0.7,
    about: 'Time in which the low and middle tones fall by 60 dB.',
    tone: { as: 'ringing' },
  },
  damping: {
    type: 'frequency',
    min: 200,
    max: 20_000,
    fallback: 5000,
    about: 'Where the decay is half as long; above it is shorter still.',
    tone: { as: 'colour' },
  },
  'pre-delay': {
    type: 'time',
    min: 0,
    max: 0.25,
    fallback: 0,
    about: 'Silence between the sound and its reverberation.',
  },
  mix: {
    type: 'percent',
    min: 0,
    max: 1,
    fallback: 0.3,
    about: 'Share of the reverberation in what comes out: 100 % where a mixer adds it to the rest.',
  },
} as const;

export const reverberator = define({
  kind: 'reverberator',
  alsoCalled: ['reverb', 'room', 'plate'],
  about: 'A small room or a plate around a sound, in stereo.',
  settings,
  needs: () => [{ inputs: ['in'], otherwise: 'gives nothing' }],
  effect: 'Reverberated',
  scales: ['in'],
  jacks: () => [
    jackIn('in', 'audio', 'What sounds in the room.'),
    jackOut('left', 'audio', 'The left side, or the one side of a mono patch.'),
    jackOut('right', 'audio', 'The right side.'),
  ],
  role: 'circuit',
  isSeeded: true,
  create: (values, site) => {
    const rate = site.sampleRate;
    const random = new Random(Uint32Array.from(site.seeds('reverberator')));
    const size = values.size * rate;
    const decay = values.decay * rate;
    const isPlate = values.model === 'plate';
    const lengths = lineLengths(size, random);
    const diffusers = isPlate
      ? primes(DIFFUSERS.map((part) => part * size * (0.9 + 0.2 * random.uniform())))
      : [];
    const dispersers = isPlate ? DISPERSERS : 0;
    const bend = dispersion(size);
    const made = site.make(
      'reverberator',
      site.input('in'),
      ...['left', 'right'].map(site.heard),
      total(lengths),
      total(diffusers),
      Math.round(values['pre-delay'] * rate),
      dispersers,
      bend,
      exp((-2 * Math.PI * LOWEST_HERTZ) / rate),
      1 - values.mix,
      values.mix,
    );

    const damping = Math.min(values.damping / rate, HIGHEST_DAMPING);
    const middle = dispersers * allPassDelay(bend, MIDDLE_HERTZ / rate);
    const high = dispersers * allPassDelay(bend, damping);
    const level = wetLevel(total(lengths) / LINES + middle, decay);
    const sign = (): number => (random.bits() < 0 ? -1 : 1);
    for (const [k, length] of lengths.entries()) {
      const { gain, pole } = absorption(length + middle, length + high, decay, damping);
      const left = sign() * level;
      // Left and right have the same sign for half of the delays and opposite signs for the rest: orthogonal.
      const right = k % 2 === 0 ? left : -left;
      site.call('reverberatorLine', made, length, gain, pole, sign() / 4, left, right);
    }
    for (const length of diffusers) {
      // None of them may ring longer than half the decay.
      const most = exp2((-2 * SIXTY_DB * length) / decay);
      site.call('reverberatorDiffuser', made, length, Math.min(DIFFUSION, most));
    }
  },
  example: `title: Reverberator
about: A rim in a small room.
modules:
  drums: { kind: rhythm, tempo: 100 bpm, channels: [rim], patterns: { groove: { rim: "x--x--x-" } }, song: [groove] }
  wood:  { kind: resonator, tune: 48 st, decay: 60 ms }
  room:  { kind: reverberator, model: room, size: 9 ms, decay: 600 ms, mix: 35 % }
  out:   { kind: output }
cables:
  - drums.rim  -> wood.strike
  - wood.out   -> room.in
  - room.left  -> out.left
  - room.right -> out.right
`,
});

/**
 * Draws the delays of the network: different primes, one in each of sixteen equal ratios.
 * @param mean samples.
 * @returns lengths in samples, the shortest first.
 */
export function lineLengths(mean: number, random: Random): readonly number[] {
  return primes(
    Array.from(
      { length: LINES },
      (_, k) => mean * SHORTEST * exp2((SPREAD * (k + random.uniform())) / LINES),
    ),
  );
}

/** The nearest primes from each of these numbers up, none of them twice. */
function primes(from: readonly number[]): readonly number[] {
  const taken = new Set<number>();
  for (const least of from) {
    let candidate = Math.max(2, Math.ceil(least));
    while (taken.has(candidate) || !isPrime(candidate)) candidate++;
    taken.add(candidate);
  }
  return [...taken];
}

function isPrime(n: number): boolean {
  for (let factor = 2; factor * factor <= n; factor++) if (n % factor === 0) return false;
  return true;
}

/** The filter that absorbs sound in a delay: gain (1 - pole)/(1 - pole z^-1). */
export interface Absorption {
  readonly gain: number;
  readonly pole: number;
}

/**
 * Finds the absorption that makes a delay fall by 60 dB in `decay` at low frequencies and in half of
 * it at `damping`. The filter's own delay counts too, so it is found by bisection.
 * @param low group delay at low and middle frequencies, samples.
 * @param high group delay at `damping`, samples; more than half of `low`.
 * @param decay samples.
 * @param damping as a fraction of the sample rate, above 0 and below 0.5.
 * @returns a gain below 1 and a pole from 0 to 1, so that it is below 1 at every frequency.
 */
export function absorption(low: number, high: number, decay: number, damping: number): Absorption {
  const cosine = cosTurns(damping);
  const gainWith = (pole: number): number => exp2((-SIXTY_DB * (low + pole / (1 - pole))) / decay);
  let least = 0;
  let most = 1;
  for (let round = 0; round < 52; round++) {
    const pole = 0.5 * (least + most);
    // |1 - pole z^-1|^2 at damping, and the filter's own delay there.
    const square = 1 + pole * (pole - 2 * cosine);
    const own = (pole * (cosine - pole)) / square;
    const left = (gainWith(pole) * (1 - pole)) / Math.sqrt(square);
    if (left > exp2((-2 * SIXTY_DB * (high + own)) / decay)) least = pole;
    else most = pole;
  }
  return { gain: gainWith(least), pole: least };
}

/**
 * Computes the coefficient of a plate's dispersing all-passes (a + z^-1)/(1 + a z^-1).
 * @param size samples, of which all of them in one delay add 0.3 at low frequencies.
 */
function dispersion(size: number): number {
  // Each adds (1 - a)/(1 + a) samples there.
  const each = (DISPERSION * size) / DISPERSERS;
  return (1 - each) / (1 + each);
}

/** Group delay of one such all-pass, samples. */
function allPassDelay(a: number, frequency: number): number {
  return (1 - a * a) / (1 + 2 * a * cosTurns(frequency) + a * a);
}

function total(lengths: readonly number[]): number {
  return lengths.reduce((sum, length) => sum + length, 0);
}

/**
 * Computes the gain of each delay to either side that gives the wet side the energy of its input: the
 * energy that passes all delays once is G = 10^(-6 mean/decay), and G + G^2 + ... = G/(1 - G).
 */
function wetLevel(mean: number, decay: number): number {
  const round = exp2((-2 * SIXTY_DB * mean) / decay);
  return Math.sqrt((1 - round) / round);
}
