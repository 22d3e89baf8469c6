/**
 * Whether one hit is two strokes, a grace stroke and the main one, that follow one another too closely for
 * their levels to tell.
 *
 * Method: removing the ringing leaves the strokes by themselves (`inverse-filter.ts`). In the power of the residual
 * a second stroke is a jump, at once, over everything since the first; and it goes on as the first did: the powers
 * after the one are those after the other times one factor. A single stroke may rise twice, as cymbals and plucked
 * strings do, but slowly, or with another fall. The idea of each step is textbook matter;
 * the limits are our own, chosen by trial on 560 single strokes, recorded and of every voice here, and on
 * flams made of them: see the tests.
 */

import { reliabilityOf } from '../../estimate.ts';
import { peakOf } from '../../samples.ts';
import { onsetSample } from '../onset-time.ts';
import { withoutRinging } from './inverse-filter.ts';

export interface Flam {
  /** How long before the main stroke the grace stroke comes, s. */
  readonly seconds: number;
  /** By how much the grace stroke is softer, dB. */
  readonly softerDb: number;
  /** When the main stroke sets in, s from the start of the recording. */
  readonly time: number;
  /** Reliability of `seconds`, from 0 to 1. */
  readonly reliability: number;
}

export interface FlamContext {
  /** Hz. */
  readonly sampleRate: number;
  /** Index of the onset, and the index after the hit's last sample. */
  readonly onset: number;
  readonly end: number;
  /** Where the samples start in the recording. */
  readonly startSample: number;
}

/** Hz; at a lower rate a quarter of a millisecond has too few samples for a level. */
const LOWEST_RATE = 16_000;
/** s; each power is that of so much sound. */
const HOP = 0.00025;
/** The distances at which strokes are looked for, s. */
const NEAREST = 0.0045;
const FARTHEST = 0.032;
/** ... and told: 5 to 30 ms, to what a stroke is placed by. What is farther apart is a rhythm. */
const [LEAST, MOST] = [0.0046, 0.0304];
/** An onset may be that of the main stroke: this much before it is looked at too, s. */
const BEFORE = 0.036;
const AFTER = 0.052;
/** ... unless all of it but the last 10 ms is 20 dB softer than the first 10 ms of the hit. */
const JUST_BEFORE = 0.01;
const QUIET = 0.005;
const PEAK = 0.01;
const FAINT = 0.1;
/** Where the sound only rings, s after the onset, and how much of it is enough to predict it from. */
const RINGS_FROM = 0.05;
const RINGS_TO = 0.09;
const ENOUGH = 0.02;
/** The first stroke: 10 dB over the 4 ms before, and no more than 22 dB under the loudest. */
const SETS_IN = 10;
const FAINTEST = 10 ** -2.2;
const CALM = ms(4);
/** Silence is 60 dB under the loudest. */
const SILENCE = 1e-6;
/** Borders of the stretches after each stroke that are compared. */
const BORDERS = [0, 0.75, 1.5, 2.5, 4, 6, 9, 13].map(ms);
/** The least by which a second stroke stands out, dB: over the sound just before, and over all since the first. */
const CLEAR_DB = 5;
const OVER_ALL_DB = CLEAR_DB - 2;
/** How much softer a grace stroke may be, dB. */
const LEAST_DB = 1.5;
const MOST_DB = 13.5;
/** How far the two may differ as they go on, dB, or as a share of how clear the second is. */
const UNLIKE_DB = 2.4;
const UNLIKE_SHARE = 1 / 5;
/** A sound that grows by more than 5 dB after its first 1.5 ms does not let a second stroke be told. */
const GROWS = 3.2;
/** The cost of each dB of difference where several moments could be the second stroke. */
const UNLIKE_COST = 1.5;
/** How exactly each stroke is placed, s: one standard deviation of their distance, by trial. */
const PLACED = 0.00013;
/**
 * s: the part of the first stroke that is searched for in the second, how far around its place, and the length of a
 * level.
 */
const AHEAD = 0.001;
const ALONG = 0.0025;
const ASTRAY = 0.0008;
const LEVEL = 0.0002;

function ms(count: number): number {
  return Math.round(count / 1000 / HOP);
}

/**
 * Finds the grace stroke of a hit.
 * @param samples the hit and 36 ms or more before it, without offset.
 * @returns null for a single stroke, and wherever it is not certain.
 */
export function findFlam(
  samples: Float64Array,
  { sampleRate, onset, end, startSample }: FlamContext,
): Flam | null {
  if (sampleRate < LOWEST_RATE) return null;
  const after = (seconds: number) => Math.min(end, onset + Math.round(seconds * sampleRate));
  const ringing = { from: after(RINGS_FROM), to: after(RINGS_TO) };
  if (ringing.to - ringing.from < ENOUGH * sampleRate) return null;
  const from = beginning(samples, onset, sampleRate);
  const left = withoutRinging(samples, ringing, { from, to: after(AFTER) });
  const powers = new Powers(left, HOP * sampleRate);
  // The sound before is not known, unless the recording begins there.
  const first = firstStroke(powers, startSample + from === 0 ? 0 : CALM);
  if (first === null) return null;
  const second = secondStroke(powers, first);
  if (second === null) return null;
  const at = (hop: number) => Math.max(0, Math.round(hop * HOP * sampleRate));
  const grace = onsetSample(left, at(first - ms(1.5)), at(first + ms(1)));
  const apart = lagOf(left, { grace, near: at(second.at - first), sampleRate });
  const seconds = apart / sampleRate;
  if (seconds < LEAST || seconds > MOST) return null;
  return {
    seconds,
    softerDb: second.softerDb,
    time: (startSample + from + grace + apart) / sampleRate,
    reliability: reliabilityOf(PLACED / seconds),
  };
}

/** Where to look from: far before the onset only if there is something as loud as a grace stroke may be. */
function beginning(samples: Float64Array, onset: number, sampleRate: number): number {
  const near = Math.max(0, onset - Math.round(JUST_BEFORE * sampleRate));
  const far = Math.max(0, onset - Math.round(BEFORE * sampleRate));
  const softest = FAINT * peakOf(samples, onset, onset + Math.round(PEAK * sampleRate));
  if (peakOf(samples, far, near) >= softest) return far;
  return Math.max(0, near - Math.ceil(QUIET * sampleRate));
}

/** How many samples later the grace stroke's course comes again: where the levels correlate most. */
function lagOf(
  left: Float64Array,
  at: { readonly grace: number; readonly near: number; readonly sampleRate: number },
): number {
  const { grace, near, sampleRate } = at;
  const astray = Math.round(ASTRAY * sampleRate);
  const from = Math.max(0, grace - Math.round(AHEAD * sampleRate));
  const count = grace + Math.round(ALONG * sampleRate) - from;
  const levels = levelsOf(left, from, from + near + astray + count, sampleRate);
  let best = near;
  let most = 0;
  for (let lag = near - astray; lag <= near + astray; lag++) {
    let products = 0;
    let squares = 0;
    for (let n = 0; n < count; n++) {
      const later = levels[n + lag] as number;
      products += (levels[n] as number) * later;
      squares += later * later;
    }
    const alike = products / Math.sqrt(squares);
    if (!(alike > most)) continue;
    most = alike;
    best = lag;
  }
  return best;
}

/** The root of the energy of the stretch that ends with each sample; past the end it is 0. */
function levelsOf(
  samples: Float64Array,
  from: number,
  to: number,
  sampleRate: number,
): Float64Array {
  const length = Math.round(LEVEL * sampleRate);
  const levels = new Float64Array(to - from);
  const energyOf = (n: number) => {
    const here = n < 0 || n >= samples.length ? 0 : (samples[n] as number);
    return here * here;
  };
  let energy = 0;
  for (let n = from - length + 1; n < to; n++) {
    energy += energyOf(n);
    if (n < from) continue;
    levels[n - from] = Math.sqrt(Math.max(0, energy));
    energy -= energyOf(n - length + 1);
  }
  return levels;
}

/** Mean squares of hops. */
class Powers {
  readonly count: number;
  readonly loudest: number;
  /** Sums of the powers up to each hop: any mean is then one difference. */
  private readonly sums: Float64Array;

  /** @param hop samples; need not be whole. */
  constructor(samples: Float64Array, hop: number) {
    this.count = Math.floor(samples.length / hop);
    this.sums = new Float64Array(this.count + 1);
    for (let k = 0; k < this.count; k++) {
      const from = Math.round(k * hop);
      const to = Math.round((k + 1) * hop);
      let sum = 0;
      for (let n = from; n < to; n++) {
        const here = samples[n] as number;
        sum += here * here;
      }
      this.sums[k + 1] = (this.sums[k] as number) + sum / (to - from);
    }
    this.loudest = 0;
    for (let k = 0; k + ms(1) <= this.count; k++)
      this.loudest = Math.max(this.loudest, this.mean(k, k + ms(1)));
  }

  /** The mean over hops `from` to `to`, as far as these exist. */
  mean(from: number, to: number): number {
    const first = Math.max(0, from);
    const last = Math.min(this.count, to);
    const silence = SILENCE * this.loudest;
    if (last <= first) return silence;
    return ((this.sums[last] as number) - (this.sums[first] as number)) / (last - first) + silence;
  }
}

/** The hop at which the first stroke rises the steepest; null for none. @param from the first to look at. */
function firstStroke(powers: Powers, from: number): number | null {
  for (let k = from; k < powers.count; k++) {
    const power = powers.mean(k, k + 2);
    if (power < FAINTEST * powers.loudest) continue;
    if (power < SETS_IN * powers.mean(k - CALM, k - 2)) continue;
    let steepest = k;
    let most = 0;
    for (let at = k; at <= k + 3; at++) {
      const rise = powers.mean(at, at + 3) / powers.mean(at - 4, at - 1);
      if (rise <= most) continue;
      most = rise;
      steepest = at;
    }
    return steepest;
  }
  return null;
}

interface Second {
  /** Hop. */
  readonly at: number;
  readonly softerDb: number;
}

/** The likeliest moment for a second stroke, if it certainly is one. */
function secondStroke(powers: Powers, first: number): Second | null {
  let best: (Second & StrokeLikeness & { readonly clear: number }) | null = null;
  let most = Number.NEGATIVE_INFINITY;
  const last = Math.min(first + Math.round(FARTHEST / HOP), powers.count - CALM - 1);
  const nearest = first + Math.round(NEAREST / HOP);
  const begun = powers.mean(first, first + ms(1.5));
  let between = 0;
  for (let k = first + ms(1.5); k < nearest - 3; k++)
    between = Math.max(between, powers.mean(k, k + ms(1)));
  for (let at = nearest; at <= last; at++) {
    // Over all since the first stroke, except the last half of a millisecond.
    const latest = at - 3;
    if (latest >= first + ms(1.5)) between = Math.max(between, powers.mean(latest, latest + ms(1)));
    if (between > GROWS * begun) break;
    const clear = clearness(powers, between, at);
    if (clear < OVER_ALL_DB) continue;
    const likeness = likenessOf(powers, first, at);
    const worth = clear - UNLIKE_COST * likeness.unlikeDb;
    if (worth <= most) continue;
    most = worth;
    best = { at, clear, ...likeness };
  }
  if (best === null || best.clear < CLEAR_DB) return null;
  if (best.unlikeDb > Math.max(UNLIKE_DB, UNLIKE_SHARE * best.clear)) return null;
  return best.softerDb >= LEAST_DB && best.softerDb <= MOST_DB ? best : null;
}

/**
 * By how much a moment stands out, dB: the smallest of several measures.
 * @param between the loudest millisecond since the first stroke.
 */
function clearness(powers: Powers, between: number, at: number): number {
  const before = Math.max(powers.mean(at - ms(2.25), at - 1), powers.mean(at - ms(4.25), at - 1));
  const jump = decibels(powers.mean(at, at + ms(1.5)) / before);
  if (jump < OVER_ALL_DB) return jump;
  const atOnce = decibels(powers.mean(at, at + ms(1)) / powers.mean(at - ms(1.5), at - ms(0.5)));
  if (atOnce < OVER_ALL_DB) return atOnce;
  let top = 0;
  for (let k = at; k <= at + ms(1); k++) top = Math.max(top, powers.mean(k, k + ms(1)));
  return Math.min(jump, atOnce, decibels(top / between) + CLEAR_DB - OVER_ALL_DB);
}

interface StrokeLikeness {
  /** By how much the first is softer than the second, dB. */
  readonly softerDb: number;
  /** How much they differ as they go on: one standard deviation over the stretches, dB. */
  readonly unlikeDb: number;
}

/** Compares how two strokes go on, until the second comes. */
function likenessOf(powers: Powers, first: number, second: number): StrokeLikeness {
  let sum = 0;
  let squares = 0;
  let count = 0;
  for (let k = 0; k + 1 < BORDERS.length; k++) {
    const from = BORDERS[k] as number;
    const to = Math.min(BORDERS[k + 1] as number, second - first - 2);
    if (to - from < 3) break;
    const louder = decibels(
      powers.mean(second + from, second + to) / powers.mean(first + from, first + to),
    );
    sum += louder;
    squares += louder * louder;
    count++;
  }
  const softerDb = sum / count;
  return { softerDb, unlikeDb: Math.sqrt(Math.max(0, squares / count - softerDb * softerDb)) };
}

function decibels(ratio: number): number {
  return 10 * Math.log10(ratio);
}
