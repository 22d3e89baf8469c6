/**
 * When a sound rises through a level, between two samples: on the polynomial of seventh degree through the
 * eight samples about it, found by secants (Illinois). So it comes four samples late.
 *
 * Source: barycentric form of Lagrange's polynomial: Berrut & Trefethen, SIAM Review 46 (2004) 501;
 * Illinois method: Dowell & Jarratt, BIT 11 (1971) 168; both from memory.
 */

/** Samples kept, and the one of them before the way on which a crossing is looked for. */
const KEPT: i32 = 8;
const CENTRE: i32 = 3;
const LAST: i32 = KEPT - 1;
/** Secants at most, and V from the level that are near enough. */
const SECANTS: i32 = 12;
const NEAR: f64 = 1e-9;
/** No crossing. */
export const NEVER: f64 = -1;

export class Crossing {
  private readonly on: f64;
  private readonly off: f64;
  /** A ring; `first` is where its earliest is. */
  private readonly samples: StaticArray<f64> = new StaticArray<f64>(KEPT);
  private first: i32 = 0;
  /** Whether it is high, which at the start is no event. */
  private isHigh: bool = true;

  /** @param on level that counts when passed upwards, once it has been at `off` or under it. */
  constructor(on: f64, off: f64) {
    this.on = on;
    this.off = off;
  }

  /** Takes a sample. @returns when in the way that lies four samples back it crossed, 0 to 1, or NEVER. */
  run(x: f64): f64 {
    this.samples[this.first] = x;
    this.first = (this.first + 1) & LAST;
    const now = this.sample(CENTRE + 1);
    if (this.isHigh) {
      if (now <= this.off) this.isHigh = false;
      return NEVER;
    }
    if (!(now >= this.on)) return NEVER;
    this.isHigh = true;
    return this.find(now);
  }

  private find(now: f64): f64 {
    const on = this.on;
    let low: f64 = 0;
    let lowRest = this.sample(CENTRE) - on;
    let high: f64 = 1;
    let highRest = now - on;
    // It may have been over the level before without having been under `off`.
    if (!(lowRest < 0)) return 0;
    let time: f64 = 0;
    let side: i32 = 0;
    for (let n: i32 = 0; n < SECANTS; n++) {
      time = low - (lowRest * (high - low)) / (highRest - lowRest);
      if (!(time > 0 && time < 1)) return time >= 1 ? 1 : 0;
      const rest = this.at(time) - on;
      if (Math.abs(rest) < NEAR) return time;
      // An end that stays twice counts for half, or the other would never reach the crossing.
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

  /** The polynomial, so long after the centre: not 0 or 1. */
  private at(time: f64): f64 {
    let weight: f64 = 1;
    let sum: f64 = 0;
    let weights: f64 = 0;
    for (let n: i32 = 0; n < KEPT; n++) {
      const share = weight / (time - f64(n - CENTRE));
      sum += share * this.sample(n);
      weights += share;
      // Binomial coefficients with alternating signs.
      weight *= -f64(LAST - n) / f64(n + 1);
    }
    return sum / weights;
  }

  private sample(n: i32): f64 {
    return this.samples[(this.first + n) & LAST];
  }
}
