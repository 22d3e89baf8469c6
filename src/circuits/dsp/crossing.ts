/**
 * When a sound rises through a level, between two samples.
 *
 *   y(t) = sum over n of x[n] h(t - n)
 *
 * is the sound under a low-pass h, at any time t. The moment at which y passes the level is looked for on a
 * grid of GRID points a sample, and between two of them on the polynomial of seventh degree through the
 * eight about it, by secants (Illinois).
 *
 * A band-limited edge has partials up to half the sample rate, and those that folded about it do not have
 * the sound's own period: its samples pass a level at moments that waver. h removes everything that may have
 * folded, so that y has the sound's period, however sharp its edges. It is of minimum phase, so that an edge
 * is late by no more than its steepness requires: some three samples. A last average over a sample gives h
 * zeros at the multiples of the sample rate, where the moment for a slow sound would depend on where the
 * samples fall.
 *
 * Source: minimum-phase kernel of a band-limited step: Brandt, "Hard sync without aliasing", ICMC 2001, here
 * used on what comes in; barycentric form of Lagrange's polynomial: Berrut & Trefethen, SIAM
 * Review 46 (2004) 501; Illinois method: Dowell & Jarratt, BIT 11 (1971) 168; all from memory. The design
 * of h: band-limited-taps.ts.
 */

import { average, spreadTaps } from './band-limited-kernel';
import { CROSSING_TAPS } from './band-limited-taps';

/** Samples within which the low-pass has passed: an even number. */
const LENGTH: i32 = 30;
/** Points a sample at which it is known. */
const GRID: i32 = 16;
/** Points that the polynomial goes through, and the one of them before the moment. */
const KEPT: i32 = 8;
const CENTRE: i32 = 3;
/** Secants at most, and V from the level that are near enough. */
const SECANTS: i32 = 12;
const NEAR: f64 = 1e-9;
/** Stands for no crossing. */
export const NEVER: f64 = -1;

/** Row r, column k: h at k + r / GRID samples. Made when first asked for. */
let rows: StaticArray<f64> | null = null;

function sharedRows(): StaticArray<f64> {
  const known = rows;
  if (known != null) return known;
  const impulse = spreadTaps(CROSSING_TAPS, GRID, LENGTH);
  average(impulse, GRID);
  const made = new StaticArray<f64>((GRID + 1) * LENGTH);
  for (let row: i32 = 0; row <= GRID; row++)
    for (let k: i32 = 0; k < LENGTH; k++) {
      const at = k * GRID + row;
      made[row * LENGTH + k] = at < impulse.length ? f64(GRID) * impulse[at] : 0;
    }
  rows = made;
  return made;
}

export class Crossing {
  private readonly on: f64;
  private readonly off: f64;
  private readonly rows: StaticArray<f64> = sharedRows();
  /** The last samples, the latest first; twice over, so that they lie side by side from `first` on. */
  private readonly samples: StaticArray<f64> = new StaticArray<f64>(2 * LENGTH + 2);
  private first: i32 = 0;
  /** The low-passed sound at the last sample. */
  private before: f64 = NaN;
  /** The low-passed sound at the points of the polynomial. */
  private readonly points: StaticArray<f64> = new StaticArray<f64>(KEPT);
  /** Whether the sound is high; being high at the start is not an event. */
  private isHigh: boolean = true;

  /** @param on level that counts when passed upwards, once it has been at `off` or under it. */
  constructor(on: f64, off: f64) {
    this.on = on;
    this.off = off;
  }

  /** Takes a sample. @returns when it crossed on the way to this sample, delayed, 0 to 1, or NEVER. */
  run(x: f64): f64 {
    if (Number.isNaN(this.before)) {
      // The first value counts as having always been there.
      for (let n: i32 = 0; n < LENGTH; n++) this.keep(x);
      this.before = this.at(0);
    }
    this.keep(x);
    const before = this.before;
    const now = this.at(GRID);
    this.before = now;
    if (this.isHigh) {
      if (now <= this.off) this.isHigh = false;
      return NEVER;
    }
    if (!(now >= this.on)) return NEVER;
    this.isHigh = true;
    // It may have been over the level before without having been under `off`.
    return before < this.on ? this.find() : 0;
  }

  /** When it crosses the level, which it does from the sample before to the last. */
  private find(): f64 {
    let low: i32 = 0;
    let high: i32 = GRID;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (this.at(middle) < this.on) low = middle;
      else high = middle;
    }
    // What lies beyond the last sample is not known yet.
    const start = low - CENTRE < GRID + 1 - KEPT ? low - CENTRE : GRID + 1 - KEPT;
    const points = this.points;
    for (let n: i32 = 0; n < KEPT; n++) points[n] = this.at(start + n);
    return (f64(low) + this.between(low - start)) / f64(GRID);
  }

  /** When the polynomial crosses the level between one of its points and the next, 0 to 1. */
  private between(point: i32): f64 {
    const on = this.on;
    let low: f64 = 0;
    let lowRest = this.points[point] - on;
    let high: f64 = 1;
    let highRest = this.points[point + 1] - on;
    let time: f64 = 0;
    let side: i32 = 0;
    for (let n: i32 = 0; n < SECANTS; n++) {
      time = low - (lowRest * (high - low)) / (highRest - lowRest);
      if (!(time > 0 && time < 1)) return time >= 1 ? 1 : 0;
      const rest = this.polynomial(f64(point) + time) - on;
      if (Math.abs(rest) < NEAR) return time;
      // An end that stays twice is weighted by half; otherwise the other would never reach the crossing.
      if (rest < 0) {
        low = time;
        lowRest = rest;
        if (side < 0) highRest *= 0.5;
        side = -1;
      } else {
        high = time;
        highRest = rest;
        if (side > 0) lowRest *= 0.5;
        side = 1;
      }
    }
    return time;
  }

  /** The polynomial, at so many points after its first; not valid at a point itself. */
  private polynomial(time: f64): f64 {
    let weight: f64 = 1;
    let sum: f64 = 0;
    let weights: f64 = 0;
    for (let n: i32 = 0; n < KEPT; n++) {
      const share = weight / (time - f64(n));
      sum += share * this.points[n];
      weights += share;
      // Binomial coefficients with alternating signs.
      weight *= -f64(KEPT - 1 - n) / f64(n + 1);
    }
    return sum / weights;
  }

  private keep(x: f64): void {
    this.first = (this.first == 0 ? LENGTH : this.first) - 1;
    this.samples[this.first] = x;
    this.samples[this.first + LENGTH] = x;
  }

  /** The low-passed sound, so many points after the last sample but one; under 0 before it. */
  private at(point: i32): f64 {
    const row = point < 0 ? point + GRID : point;
    const first = point < 0 ? this.first + 1 : this.first;
    let from = changetype<usize>(this.samples) + ((<usize>first) << 3);
    let weights = changetype<usize>(this.rows) + ((<usize>(row * LENGTH)) << 3);
    const end = weights + ((<usize>LENGTH) << 3);
    let sum = f64x2.splat(0);
    for (; weights < end; weights += 16, from += 16)
      sum = f64x2.add(sum, f64x2.mul(v128.load(weights), v128.load(from)));
    return f64x2.extract_lane(sum, 0) + f64x2.extract_lane(sum, 1);
  }
}
