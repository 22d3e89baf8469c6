/**
 * How evenly recorded pulses come: period, jitter, swing, missing pulses and double ones.
 *
 * Jitter is that of the edges against a clock of exactly the same rate (time interval error, the
 * straight line through all edges by least squares), and of the periods against their mean.
 * Source: ITU-T G.810 (time interval error; from memory).
 */

import { median } from '../median.ts';

export interface ClockMeasures {
  /** s, of the straight line through all edges. */
  readonly period: number;
  /** s, rms and the worst, of edges against the line; after swing is taken out, where there is any. */
  readonly jitterRms: number;
  readonly jitterWorst: number;
  /** s, rms, of periods against their mean. */
  readonly periodJitterRms: number;
  /** Intervals that are one period long, in order: not those beside a missing or a double pulse. */
  readonly periods: readonly ClockPeriod[];
  /** How long the first of two periods is, of both together, %; undefined where they do not alternate. */
  readonly swingPercent: number | undefined;
  /** Where a pulse is missing, s. */
  readonly missing: readonly number[];
  /** Where a pulse is one too many, s. */
  readonly doubles: readonly number[];
}

export interface ClockPeriod {
  /** s, when it begins. */
  readonly at: number;
  readonly seconds: number;
  /** s, against their mean, after swing is taken out. */
  readonly off: number;
}

/** A pulse within this share of a period after another is one too many. */
const DOUBLE = 0.35;
/** The share of intervals that must be one period long: with fewer, it is a rhythm and not a clock. */
const STEADY = 0.75;
/** An interval is one period if it is this near: more than the largest swing that is reported, 75 %. */
const NEAR = 0.55;
/** Fewer edges are not enough for a line to measure jitter from. */
const FEWEST = 4;
/** Edges further off the line than this share of a period, rms, are a rhythm. */
const MOST_UNEVEN = 0.12;
/** Swing counts where it is this many times the scatter without it. */
const CLEAR_SWING = 3;
/** ... or where it is so many standard errors, and at least this share of a period (a swing of 51 %). */
const SURE_SWING = 5;
const LEAST_SWING = 0.01;

/**
 * Measures them.
 * @param times of rising edges, s, in order.
 * @returns undefined for fewer than four, and if they are not a clock.
 */
export function clockMeasures(times: readonly number[]): ClockMeasures | undefined {
  if (times.length < FEWEST) return undefined;
  const rough = roughPeriod(times);
  const kept: number[] = [];
  const doubles: number[] = [];
  for (const time of times) {
    const last = kept.at(-1);
    if (last !== undefined && time - last < DOUBLE * rough) doubles.push(time);
    else kept.push(time);
  }
  if (kept.length < FEWEST) return undefined;
  const numbers = [0];
  let even = 0;
  for (let n = 1; n < kept.length; n++) {
    const periods = ((kept[n] as number) - (kept[n - 1] as number)) / rough;
    const whole = Math.max(1, Math.round(periods));
    if (whole === 1 && Math.abs(periods - 1) <= NEAR) even += 1;
    numbers.push((numbers[n - 1] as number) + whole);
  }
  if (even < STEADY * (kept.length - 1)) return undefined;
  const line = lineThrough(numbers, kept);
  const { errors, left, offset } = line;
  const isClear = rms(left) * CLEAR_SWING < offset;
  // Half of the distance between two means, each of half of the edges.
  const isSure = (SURE_SWING * rms(left)) / Math.sqrt(kept.length) < offset;
  const isSwung =
    kept.length >= 2 * FEWEST &&
    offset > 0 &&
    (isClear || (isSure && offset > LEAST_SWING * line.period));
  const jitter = isSwung ? left : errors;
  if (rms(jitter) > MOST_UNEVEN * line.period) return undefined;
  const missing: number[] = [];
  for (let n = 1; n < numbers.length; n++)
    for (let k = (numbers[n - 1] as number) + 1; k < (numbers[n] as number); k++)
      missing.push(line.start + k * line.period);
  const periods = jitter.slice(1).flatMap((error, n): ClockPeriod[] => {
    if ((numbers[n + 1] as number) - (numbers[n] as number) !== 1) return [];
    const at = kept[n] as number;
    return [{ at, seconds: (kept[n + 1] as number) - at, off: error - (jitter[n] as number) }];
  });
  return {
    period: line.period,
    jitterRms: rms(jitter),
    jitterWorst: jitter.reduce((most, error) => Math.max(most, Math.abs(error)), 0),
    periodJitterRms: rms(periods.map(({ off }) => off)),
    periods,
    swingPercent: isSwung ? 50 * (1 + (2 * offset) / line.period) : undefined,
    missing,
    doubles,
  };
}

/** The median interval; with swing, half of two together. */
function roughPeriod(times: readonly number[]): number {
  const of = (step: number): number =>
    median(times.slice(step).map((time, n) => (time - (times[n] as number)) / step));
  const [one, two] = [of(1), of(2)];
  // Where two intervals are not twice one, they alternate; but some missing or double pulses do not count.
  return Math.abs(one / two - 1) < DOUBLE ? two : one;
}

interface ClockLine {
  /** s, of the pulse numbered 0, and between two. */
  readonly start: number;
  readonly period: number;
  /** How far each lies off it, s; `left` is the same once every second one is moved by twice `offset`. */
  readonly errors: readonly number[];
  readonly left: readonly number[];
  /** s, half of how far odd pulses lie from the middle between their neighbours. */
  readonly offset: number;
}

/** After this many fits the line no longer changes. */
const FITS = 4;

/**
 * A straight line and every second pulse's own place, by least squares, one after the other until both are stable.
 */
function lineThrough(numbers: readonly number[], times: readonly number[]): ClockLine {
  const count = numbers.length;
  const isOdd = numbers.map((number) => number % 2 !== 0);
  const odds = isOdd.filter((one) => one).length;
  const meanNumber = numbers.reduce((sum, number) => sum + number, 0) / count;
  let shift = 0;
  for (let fit = 1; ; fit++) {
    // Odd pulses are later by `shift`: half of it is assigned to them, half to the even ones.
    const own = times.map((time, n) => time - (isOdd[n] ? shift / 2 : -shift / 2));
    const meanTime = own.reduce((sum, time) => sum + time, 0) / count;
    let nn = 0;
    let nt = 0;
    for (let n = 0; n < count; n++) {
      const number = (numbers[n] as number) - meanNumber;
      nn += number * number;
      nt += number * ((own[n] as number) - meanTime);
    }
    const period = nt / nn;
    const start = meanTime - period * meanNumber;
    const off = (time: number, n: number): number => time - start - period * (numbers[n] as number);
    const errors = times.map(off);
    const left = own.map(off);
    if (fit === FITS || odds === 0 || odds === count)
      return { start, period, errors, left, offset: Math.abs(shift) / 2 };
    const mean = (odd: boolean): number =>
      errors.reduce((sum, error, n) => (isOdd[n] === odd ? sum + error : sum), 0) /
      (odd ? odds : count - odds);
    shift = mean(true) - mean(false);
  }
}

function rms(values: readonly number[]): number {
  if (values.length === 0) return 0;
  return Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);
}
