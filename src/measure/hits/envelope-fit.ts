/**
 * Follows the fall of a hit: where it starts, where it meets the floor, and its time constant.
 */

import { largest } from '../../modules/dsp/extremes.ts';
import type { Reason } from '../estimate.ts';
import { mean } from '../mean.ts';
import {
  costOf,
  type DecayModel,
  type Residuals,
  ranked,
  residualsOf,
  solve,
  spreadOf,
  standardError,
} from './decay-model.ts';
import type { PowerEnvelope } from './envelope.ts';

export interface DecayFit {
  /** Time constant of the amplitude, s: 8.686 dB fall in each. */
  readonly tau: number;
  /** One standard error of tau, as a share of it, judged from the residual. */
  readonly error: number;
  /** Power the fall has at `start`, and the floor's. */
  readonly power: number;
  readonly floor: number;
  /** The stretch that was fitted, s on the envelope's clock. */
  readonly start: number;
  readonly end: number;
  /** How far the fall could be followed, dB. */
  readonly rangeDb: number;
  /** Root mean square difference from the model, dB. */
  readonly residualDb: number;
  readonly reason: Reason | null;
}

/** A fall of fewer decibels than this gives no figure. */
const LEAST_RANGE_DB = 6;
/** A fall followed for less than this is cut short, or sits in noise. */
const GOOD_RANGE_DB = 12;
/** A sound that falls by less than this in all has no decay. */
const STEADY_DB = 1;
const FEWEST_POINTS = 8;
/** The middle of a straight fall stands off the line through its ends by less than this, dB. */
const STRAIGHT_DB = 1.5;
/** A floor is accepted where it improves the fit by this much: 4 is two standard deviations. */
const WORTH_A_FLOOR = 6;
const FEWEST_FOR_A_FLOOR = 10;
/** The share of a stretch that counts as its end. */
const TAIL = 0.25;
/** Numbers this far under the peak's power are rounding noise: -140 dB. */
const NOTHING = 1e-14;
const DB = 10 / Math.LN10;

export interface FitOptions {
  /** s on the envelope's clock; the attack and half a window must be over. */
  readonly start: number;
  /** The power without the sound; 0 for not known. */
  readonly floor: number;
  /** Under this power the recording's steps are coarser than the sound; 0 for none. */
  readonly least: number;
  /** How many points to fit, about: the time grows with them. */
  readonly enough: number;
  /** How far the fall is followed, dB; to its end if left out. */
  readonly withinDb?: number;
}

/**
 * Fits an exponential decay over a steady floor to the envelope from `start` on.
 * @returns the fit, or why there is none.
 */
export function fitDecay(envelope: PowerEnvelope, options: FitOptions): DecayFit | Reason {
  const { power, step } = envelope;
  const { start, floor, least, enough, withinDb } = options;
  const first = Math.max(0, Math.ceil((start - envelope.start) / step - 1e-9));
  const isWhole = withinDb === undefined;
  const last = isWhole
    ? endOfFall(power, first, least)
    : Math.min(endOfFall(power, first, least), reaches(power, first, floor, withinDb));
  if (last - first < FEWEST_POINTS) return 'too-short';
  // Neighbours within a quarter of a window add nothing; nor do more points than `FitOptions` asks for.
  const stride = Math.max(
    1,
    Math.min(Math.round(envelope.window / step / 4), Math.floor((last - first) / FEWEST_POINTS)),
    Math.floor((last - first) / enough),
  );
  const count = Math.floor((last - first - 1) / stride) + 1;
  const x = new Float64Array(count);
  const y = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    x[i] = i * stride * step;
    y[i] = Math.log(power[first + i * stride] as number);
  }
  const overlap = Math.max(1, envelope.window / (stride * step) / 2);
  const model = isWhole ? bestModel(x, y, floor, overlap) : knownFloor(x, y, floor);
  if (!(model.rate > 0) || !Number.isFinite(model.rate + model.level)) return 'no-decay';
  const length = x[count - 1] as number;
  const rangeDb = DB * Math.min(model.level - model.floor, model.rate * length);
  const seesFloor = model.level - model.rate * length < model.floor + 1;
  if (rangeDb < STEADY_DB && !seesFloor) return 'no-decay';
  if (rangeDb < LEAST_RANGE_DB) return seesFloor ? 'noise-floor' : 'too-short';
  const found = residualsOf(x, y, model);
  const { residualDb, bendDb } = bendOf(found);
  const together = Math.max(overlap, togetherOf(found.left));
  const tolerance = STRAIGHT_DB + 3 * residualDb * Math.sqrt(together / count);
  return {
    tau: 2 / model.rate,
    error: standardError(x, found, model, together),
    power: Math.exp(model.level),
    floor: Math.exp(model.floor),
    start: envelope.start + first * step,
    end: envelope.start + (last - 1) * step,
    rangeDb,
    residualDb,
    reason: reasonOf(rangeDb, bendDb > tolerance, seesFloor),
  };
}

function reasonOf(rangeDb: number, isBent: boolean, seesFloor: boolean): Reason | null {
  if (isBent) return 'not-exponential';
  if (rangeDb < GOOD_RANGE_DB) return seesFloor ? 'noise-floor' : 'cut-short';
  return null;
}

/** The fit with the known floor, or with one that the fit finds, if that is clearly better. */
function bestModel(x: Float64Array, y: Float64Array, floor: number, together: number): DecayModel {
  const fixed = knownFloor(x, y, floor);
  // With few independent points a third number can fit anything.
  if (x.length < FEWEST_FOR_A_FLOOR * together) return fixed;
  const { first, quietest, rate } = courseOf(x, y);
  const free = solve(x, y, { level: first, rate: 2 * rate, floor: quietest, floorIsFree: true });
  const { left } = residualsOf(x, y, free);
  const scale = spreadOf(left, new Float64Array(left.length));
  const gain = (costOf(residualsOf(x, y, fixed).left, scale) - costOf(left, scale)) / together;
  return gain > WORTH_A_FLOOR && free.rate > 0 ? free : fixed;
}

function knownFloor(x: Float64Array, y: Float64Array, floor: number): DecayModel {
  const { first, quietest, rate } = courseOf(x, y);
  const known = Math.log(Math.max(floor, Math.exp(quietest) * NOTHING));
  return solve(x, y, {
    level: first,
    rate,
    floor: Math.min(known, quietest),
    floorIsFree: false,
  });
}

function courseOf(x: Float64Array, y: Float64Array) {
  const first = y[0] as number;
  const quietest = y.reduce((a, b) => Math.min(a, b));
  return {
    first,
    quietest,
    rate: Math.max(0.1, first - quietest) / (x[x.length - 1] as number),
  };
}

/** Where the fall has met the floor, and half as much floor after it again; the whole length if it never does. */
function endOfFall(power: Float64Array, first: number, least: number): number {
  const quiet = quantile(power.subarray(first), 0.1) * 2;
  const nothing = Math.max(least, (power[first] ?? 0) * NOTHING);
  let meets = first;
  while (meets < power.length && (power[meets] as number) > quiet) meets++;
  const wanted = meets + Math.max(FEWEST_POINTS, Math.round((meets - first) * 0.5));
  let end = first;
  while (end < Math.min(power.length, wanted) && (power[end] as number) > nothing) end++;
  return end;
}

/** Where the fall is down by so much: midway between the first point below and the last point above. */
function reaches(power: Float64Array, first: number, floor: number, db: number): number {
  const level = Math.max(0, (power[first] ?? 0) - floor) * 10 ** (-db / 10) + floor;
  let from = first;
  while (from < power.length && (power[from] as number) > level) from++;
  // Beyond twice as long, a louder point is another sound.
  let to = Math.min(power.length, first + 2 * (from - first));
  while (to > from && (power[to - 1] as number) <= level) to--;
  return Math.round((from + to) / 2);
}

/** How many neighbouring residuals depend on each other: 1 + 2 times the sum of their correlations. */
export function togetherOf(left: Float64Array): number {
  let squares = 0;
  for (let i = 0; i < left.length; i++) squares += (left[i] as number) ** 2;
  let sum = 1;
  for (let lag = 1; lag < left.length / 3; lag++) {
    let products = 0;
    for (let i = lag; i < left.length; i++) {
      products += (left[i] as number) * (left[i - lag] as number);
    }
    if (!(products > 0.05 * squares)) break;
    sum += (2 * products) / squares;
  }
  return sum;
}

/** A steady end is a floor if it is this far under the loudest, and otherwise a sound that hardly falls. */
const FAR_DOWN = 10 ** -1.5;

/** The power, or energy, without a sound: the known one, or that of the steady end of its fall. */
export function floorUnder(power: Float64Array, known: number): number {
  const steady = steadyFloor(power);
  return Math.max(known, steady < FAR_DOWN * largest(power) ? steady : 0);
}

/** The level of the end, if it is steady: the floor; otherwise 0. */
export function steadyFloor(power: Float64Array): number {
  const from = Math.floor(power.length * (1 - TAIL));
  const middle = Math.floor((from + power.length) / 2);
  const before = mean(power, from, middle);
  const after = mean(power, middle, power.length);
  return after > 0 && Math.abs(DB * Math.log(before / after)) < STEADY_DB
    ? (before + after) / 2
    : 0;
}

function quantile(values: Float64Array, share: number): number {
  const stride = Math.max(1, Math.floor(values.length / 300));
  const some = new Float64Array(Math.ceil(values.length / stride));
  for (let i = 0; i < some.length; i++) some[i] = values[i * stride] as number;
  return some.length === 0 ? 0 : ranked(some, Math.floor(some.length * share));
}

/** The residuals' size, and how far the middle third of the fall lies off its outer thirds. */
function bendOf({ left, share }: Residuals) {
  const inFall = new Float64Array(left.length);
  let count = 0;
  let squares = 0;
  for (let i = 0; i < left.length; i++) {
    const residual = DB * (left[i] as number);
    squares += residual * residual;
    if ((share[i] as number) > 0.5) inFall[count++] = residual;
  }
  const third = Math.floor(count / 3);
  const outer = (mean(inFall, 0, third) + mean(inFall, count - third, count)) / 2;
  return {
    residualDb: Math.sqrt(squares / left.length),
    bendDb: Math.abs(mean(inFall, third, count - third) - outer),
  };
}
