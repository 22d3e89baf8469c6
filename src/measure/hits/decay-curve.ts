/**
 * Decay times by backward integration: EDT, T20 and T60.
 *
 * The energy that is still to come falls smoothly, whatever the wave, and needs no choice of window.
 * A line through it in dB, from 0 to -10 dB (EDT), from -5 to -25 dB (T20) or from -5 to -35 dB (T30), is
 * drawn out to 60 dB. The integral begins with the hit, so that of one that swells EDT also counts the time before
 * its loudest: it is in doubt there. Sources: M. R. Schroeder, New Method of Measuring Reverberation Time, J. Acoust.
 * Soc. Am. 37 (1965) 409-412; ISO 3382-1:2009, 5.3.3 and annex A, which also cuts the integral where the
 * fall meets the noise and adds the energy that an exponential fall would have after that (all from memory).
 */

import { type Estimate, none, type Reason, reliabilityOf } from '../estimate.ts';
import { type Decay, type HitStretch, leastPower } from './decay.ts';
import { floorUnder } from './envelope-fit.ts';

/** Times of a fall by 60 dB, s. */
export interface DecayTimes {
  /** Early decay time: from the first 10 dB. */
  readonly edt: Estimate;
  /** From -5 to -25 dB. */
  readonly t20: Estimate;
  /**
   * From -5 to -35 dB (T30); from T20, or the first decibels of a fall that is cut short, where no more can be used.
   */
  readonly t60: Estimate;
}

const LONGEST_HOP = 0.001;
const SHORTEST_HOP = 0.0001;
/** The fewest hops in a time constant. */
const FINE = 25;
/** The fall is followed until it is this many times its floor. */
const OVER_FLOOR = 2;
/** The level and the slope of the end are measured through windows of this many slow waves, and at least s. */
const WAVES = 2;
const SHORTEST_WINDOW = 0.004;
/** The slope of the end is that of its last decibels. */
const LAST_DB = 10;
/** The fit's standard error holds for 30 dB; that over 20 or 10 dB is larger by these factors. */
const OF_20 = 1.3;
const OF_10 = 4;
/** A straight line replaces T20 where T20's reliability is under this share of the line's. */
const MUCH = 0.5;
/** The energy added after the end is known to this share. */
const OF_ADDED = 0.25;
/** A floor is known to this share. */
const OF_FLOOR = 0.1;
/** A hit that begins with less than this share of its loudest power swells. */
const SWELLS = 0.5;
const FEWEST = 6;
const DB = 10 / Math.LN10;

/** Measures the decay times of a hit. @param isClipped whether its peak is cut flat. */
export function decayTimes(
  samples: Float64Array,
  stretch: HitStretch,
  decay: Decay,
  isClipped: boolean,
): DecayTimes {
  const curve = backward(samples, stretch, decay);
  if (typeof curve === 'string') return { edt: none(curve), t20: none(curve), t60: decay.t60 };
  const fitError = decay.fit?.error ?? 1;
  const told = (from: number, to: number, share: number): Estimate => {
    const line = slopeOf(curve, from, to);
    if (line === null) return none(curve.isFloor ? 'noise-floor' : 'cut-short');
    const wave = 0.5 / (4 * Math.PI * stretch.lowHz * line.span);
    const error = Math.hypot(share * fitError, wave, line.doubt);
    const reliability = reliabilityOf(error) * (isClipped ? 0.5 : 1);
    return { value: 60 / line.perSecond, reliability, reason: isClipped ? 'clipped' : null };
  };
  const t20 = told(-5, -25, OF_20);
  const t30 = told(-5, -35, 1);
  const early = told(0, -10, OF_10);
  const edt = { ...early, reliability: early.reliability * (curve.swells ? 0.4 : 1) };
  return { edt, t20, t60: t30.value !== null ? t30 : surer(t20, decay.t60) };
}

/** A fall that is not straight keeps T20; a straight one may have been followed further, or less far. */
function surer(t20: Estimate, straight: Estimate): Estimate {
  if (t20.value === null) return straight;
  const isStraight = straight.value !== null && straight.reason === null;
  return isStraight && t20.reliability < MUCH * straight.reliability ? straight : t20;
}

interface EnergyCurve {
  /** dB against the whole energy, at each hop. */
  readonly level: Float64Array;
  /** s from one to the next. */
  readonly step: number;
  /** Energies against the whole: the part added after the end, and the floor's in a hop. */
  readonly added: number;
  readonly floor: number;
  readonly isFloor: boolean;
  readonly swells: boolean;
}

function backward(
  samples: Float64Array,
  stretch: HitStretch,
  { fit }: Decay,
): EnergyCurve | Reason {
  const { onset, end, sampleRate, lowHz } = stretch;
  const wanted = fit === null ? 0 : fit.tau / FINE;
  const step = Math.max(SHORTEST_HOP, Math.min(LONGEST_HOP, wanted));
  const hop = Math.max(1, Math.round(step * sampleRate));
  const energy = energies(samples, onset, end, hop);
  const window = Math.max(SHORTEST_WINDOW, WAVES / lowHz) * sampleRate;
  const width = Math.max(1, Math.round(window / hop));
  if (energy.length < 2 * width) return 'too-short';
  const floor = floorUnder(energy, hop * stretch.floor);
  const least = Math.max(OVER_FLOOR * floor, hop * leastPower(stretch));
  const { last, swells } = endOf(energy, width, least);
  const added = rest(energy, last, width, floor);
  const level = new Float64Array(last + 1);
  let sum = added;
  level[last] = sum;
  for (let h = last - 1; h >= 0; h--) {
    sum += (energy[h] as number) - floor;
    level[h] = sum;
  }
  const whole = sum;
  if (!(whole > 0)) return 'silent';
  for (let h = 0; h <= last; h++) {
    level[h] = DB * Math.log(Math.max(1e-12, (level[h] as number) / whole));
  }
  return {
    level,
    step: hop / sampleRate,
    added: added / whole,
    floor: floor / whole,
    isFloor: last < energy.length,
    swells,
  };
}

function energies(samples: Float64Array, from: number, to: number, hop: number): Float64Array {
  const energy = new Float64Array(Math.floor((to - from) / hop));
  for (let h = 0, n = from; h < energy.length; h++) {
    let sum = 0;
    for (const next = n + hop; n < next; n++) sum += (samples[n] as number) ** 2;
    energy[h] = sum;
  }
  return energy;
}

/** The hop from which on the mean over a window is less than `least`, after the loudest; and whether the hit swells. */
function endOf(energy: Float64Array, width: number, least: number) {
  let sum = 0;
  for (let h = 0; h < width; h++) sum += energy[h] as number;
  let most = sum;
  let loudest = 0;
  const sums = new Float64Array(energy.length - width + 1);
  sums[0] = sum;
  for (let h = 1; h < sums.length; h++) {
    sum += (energy[h + width - 1] as number) - (energy[h - 1] as number);
    sums[h] = sum;
    if (sum > most) {
      most = sum;
      loudest = h;
    }
  }
  const swells = (sums[0] as number) < SWELLS * most;
  for (let h = loudest; h < sums.length; h++) {
    if ((sums[h] as number) < least * width) return { last: Math.max(width, h), swells };
  }
  return { last: energy.length, swells };
}

/** The energy that an exponential fall has after its end: its last level times half its time constant. */
function rest(energy: Float64Array, last: number, width: number, floor: number): number {
  const mean = (to: number) => {
    let sum = 0;
    for (let h = to - width; h < to; h++) sum += energy[h] as number;
    return Math.max(0, sum / width - floor);
  };
  const level = mean(last);
  if (level === 0) return 0;
  // Back to where it was 10 dB louder; the slope from there on is that of the end.
  let from = last;
  while (from - width >= width && mean(from) < level * 10 ** (LAST_DB / 10)) {
    from -= Math.max(1, width >> 2);
  }
  const fall = Math.log(mean(from) / level);
  // The level is that of the middle of the window.
  return fall > 0
    ? (level * Math.exp((-fall / (last - from)) * (width / 2)) * (last - from)) / fall
    : 0;
}

/** The line between two levels; null where the curve does not reach so far. */
function slopeOf({ level, step, added, floor }: EnergyCurve, from: number, to: number) {
  const last = level.length - 1;
  if ((level[last] as number) > to) return null;
  let first = 0;
  while ((level[first] as number) > from) first++;
  let end = first;
  while (end < last && (level[end] as number) >= to) end++;
  const count = end - first;
  if (count < FEWEST) return null;
  let t1 = 0;
  let t2 = 0;
  let y1 = 0;
  let ty = 0;
  for (let n = 0; n < count; n++) {
    const value = level[first + n] as number;
    t1 += n;
    t2 += n * n;
    y1 += value;
    ty += n * value;
  }
  const slope = (count * ty - t1 * y1) / (count * t2 - t1 * t1);
  const left = 10 ** (to / 10);
  const doubt = (OF_ADDED * added + OF_FLOOR * floor * (last - end)) / left;
  return { perSecond: -slope / step, span: count * step, doubt };
}
