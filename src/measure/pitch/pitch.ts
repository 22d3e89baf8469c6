/** The pitch of a hit and how it falls; nothing for noise. */

import { Decimator } from '../decimator.ts';
import { type Estimate, none, type Reason } from '../estimate.ts';
import type { HitStretch } from '../hits/decay.ts';
import { peakOf } from '../samples.ts';
import { cyclesOf, fitGlide } from './glide.ts';
import { HighPitchMeter } from './high-pitch.ts';
import { PeriodFinder } from './period.ts';

export interface Pitch {
  /** Hz at the end of the audible part, where a falling pitch has settled. */
  readonly hz: Estimate;
  /** Hz at the onset. */
  readonly startHz: number | null;
  /** Time constant of the fall, in octaves, s; null for a steady pitch. */
  readonly fallSeconds: number | null;
}

/** The result for a sound that is known to be noise. */
export const NOISE: Pitch = nothing('noise');

/** Pitches are looked for in the signal brought down to this rate, Hz, or a little above. */
const RATE = 10000;
/** The highest pitch whose cycles are followed, Hz. */
const HIGHEST = 2500;
const LONGEST = 0.35;
const FRAME = 0.085;
/** The clarity from which a wave counts as repeating. */
const CLEAR = 0.75;
/** A floor of this share of the power can hide a pitch. */
const MUCH_NOISE = 0.05;
const BEFORE_ONSET = 8;
/** A wave of this many times the level before the hit belongs to the hit. */
const ABOVE = 1.1;
/** Passes of the low-pass that leaves the fundamental, as multiples of the pitch; 0 for none. */
const CUTOFFS = [0, 6, 3, 1.8];
/** Cycles may differ from the period by this, octaves, in the last third. */
const AGREES = 0.08;
const FEWEST_CYCLES = 3;
const HALF_RELIABLE_OCTAVES = 0.05;

export class PitchMeter {
  private readonly sampleRate: number;
  private readonly factor: number;
  private readonly decimator: Decimator;
  private readonly periods: PeriodFinder;
  private readonly high: HighPitchMeter;

  /** @param sampleRate Hz. */
  constructor(sampleRate: number) {
    this.sampleRate = sampleRate;
    this.factor = Math.max(1, Math.floor(sampleRate / RATE));
    const passEdge = Math.min(HIGHEST / sampleRate, 0.3 / this.factor);
    this.decimator = new Decimator(this.factor, passEdge);
    this.periods = new PeriodFinder(sampleRate / this.factor);
    this.high = new HighPitchMeter(sampleRate);
  }

  /**
   * Measures the pitch.
   * @param samples the hit without offset.
   * @param stretch its end is where it can no longer be heard.
   * @param middleHz half of the hit's energy lies above this.
   */
  measure(samples: Float64Array, stretch: HitStretch, middleHz: number): Pitch {
    const { onset, end } = stretch;
    const last = Math.min(end, onset + Math.round(LONGEST * this.sampleRate));
    const isHigh = middleHz > HIGHEST;
    const high = isHigh ? this.highPitch(samples, onset, last, stretch.lowHz < HIGHEST) : null;
    return high ?? this.lowPitch(samples, last, stretch);
  }

  /** @param isAlsoLow whether another pitch may be under it. */
  private highPitch(
    samples: Float64Array,
    onset: number,
    last: number,
    isAlsoLow: boolean,
  ): Pitch | null {
    const found = this.high.measure(samples, onset, last, { lowest: HIGHEST, leastClarity: CLEAR });
    if (found === null) return null;
    const reliability = found.clarity / (1 + (found.drift / HALF_RELIABLE_OCTAVES) ** 2);
    return {
      hz: isAlsoLow
        ? { value: found.hz, reliability: reliability / 2, reason: 'ambiguous' }
        : { value: found.hz, reliability, reason: null },
      startHz: found.hz,
      fallSeconds: null,
    };
  }

  /** @param last the sample after the last whose cycles are followed. */
  private lowPitch(samples: Float64Array, last: number, { onset, floor }: HitStretch): Pitch {
    const low = this.decimator.reduce(samples.subarray(onset, last));
    const rate = this.sampleRate / this.factor;
    const period = this.clearest(low, rate);
    if (period === null) return nothing('too-short');
    // White noise keeps this share of its power under the decimator's edge.
    const noise = Math.sqrt(floor * Math.min(1, (2 * HIGHEST) / this.sampleRate));
    if (period.clarity < CLEAR || period.hz > HIGHEST) {
      const power = energyOf(low) / low.length;
      return nothing(noise * noise > MUCH_NOISE * power ? 'noise-floor' : 'noise');
    }
    // The onset itself is known to some samples.
    const ahead = this.decimator.reduce(samples.subarray(0, Math.max(0, onset - BEFORE_ONSET)));
    const before = peakOf(ahead);
    // A wave that was there before, such as hum, must not be taken for this hit's.
    const threshold = Math.max(3 * noise, ABOVE * before, 0.02 * peakOf(low));
    let most = 0;
    for (const multiple of CUTOFFS) {
      const wave = multiple === 0 ? low : smoothed(low, rate / (multiple * period.hz));
      const cycles = cyclesOf(wave, rate, threshold);
      most = Math.max(most, cycles.length);
      if (cycles.length < FEWEST_CYCLES) continue;
      const glide = fitGlide(cycles, threshold);
      const isSettled = Math.abs(Math.log2(glide.endHz / period.hz)) < AGREES;
      const isFalling = glide.tau !== null && glide.residual < AGREES && period.hz > glide.endHz;
      if (!isSettled && !isFalling) continue;
      const reliability = period.clarity / (1 + (glide.residual / HALF_RELIABLE_OCTAVES) ** 2);
      // Cycles of a click before a tone are not a part of its fall.
      const isTold = glide.tau === null || glide.residual < AGREES;
      return {
        hz: { value: glide.endHz, reliability, reason: null },
        startHz: isTold ? glide.startHz : null,
        fallSeconds: isTold ? glide.tau : null,
      };
    }
    return {
      hz: {
        value: period.hz,
        reliability: 0.5 * period.clarity,
        reason: most < FEWEST_CYCLES ? 'too-short' : 'ambiguous',
      },
      startHz: null,
      fallSeconds: null,
    };
  }

  /** The clearest period of three frames, at the start, in the middle and at the end. */
  private clearest(low: Float64Array, rate: number) {
    const frame = Math.min(low.length, Math.round(FRAME * rate));
    const offsets = [0, 0.5, 1].map((share) => Math.round(share * (low.length - frame)));
    let best = null;
    for (const offset of new Set(offsets)) {
      const period = this.periods.find(low, offset, offset + frame);
      // A tie goes to the later frame, which is the more settled one.
      if (period !== null && period.clarity >= (best?.clarity ?? 0) - 0.02) best = period;
    }
    return best;
  }
}

function energyOf(samples: Float64Array): number {
  let sum = 0;
  for (let n = 0; n < samples.length; n++) {
    const value = samples[n] as number;
    sum += value * value;
  }
  return sum;
}

function nothing(reason: Reason): Pitch {
  return { hz: none(reason), startHz: null, fallSeconds: null };
}

/** Smooths with a Hann window that is half a period of the cutoff long: symmetric, so without delay. */
function smoothed(samples: Float64Array, period: number): Float64Array {
  const half = Math.max(1, Math.round(period / 2));
  const weights = Float64Array.from(
    { length: 2 * half + 1 },
    (_, n) => Math.cos((Math.PI * (n - half)) / (2 * half + 2)) ** 2 / (half + 1),
  );
  const padded = new Float64Array(samples.length + 2 * half);
  padded.set(samples, half);
  const result = new Float64Array(samples.length);
  let n = 0;
  for (; n + 3 < result.length; n += 4) fourSums(weights, padded, n, result);
  for (; n < result.length; n++) result[n] = windowed(weights, padded, n);
  return result;
}

/** The sum at one place under a symmetric window: one product for each pair. */
function windowed(weights: Float64Array, padded: Float64Array, n: number): number {
  const half = (weights.length - 1) / 2;
  const end = n + 2 * half;
  let sum = (weights[half] as number) * (padded[n + half] as number);
  for (let j = 0; j < half; j++) {
    sum += (weights[j] as number) * ((padded[n + j] as number) + (padded[end - j] as number));
  }
  return sum;
}

/** The sums at four places from `n` on, side by side, since a sum has to wait for its last addition. */
function fourSums(
  weights: Float64Array,
  padded: Float64Array,
  n: number,
  sums: Float64Array,
): void {
  const half = (weights.length - 1) / 2;
  const middle = weights[half] as number;
  let a = middle * (padded[n + half] as number);
  let b = middle * (padded[n + half + 1] as number);
  let c = middle * (padded[n + half + 2] as number);
  let d = middle * (padded[n + half + 3] as number);
  for (let j = 0, low = n, high = n + 2 * half; j < half; j++, low++, high--) {
    const weight = weights[j] as number;
    a += weight * ((padded[low] as number) + (padded[high] as number));
    b += weight * ((padded[low + 1] as number) + (padded[high + 1] as number));
    c += weight * ((padded[low + 2] as number) + (padded[high + 2] as number));
    d += weight * ((padded[low + 3] as number) + (padded[high + 3] as number));
  }
  sums[n] = a;
  sums[n + 1] = b;
  sums[n + 2] = c;
  sums[n + 3] = d;
}
