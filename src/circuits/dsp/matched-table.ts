/**
 * The sections of `matched.ts` for every cutoff, for one that moves: worked out at even steps up to the
 * highest cutoff, and in between on straight lines. What is kept bends little, and the gain of the
 * integrators only as a share of tan(pi cutoff), so that pitch stays within 0.2 cents.
 */

import { HIGHEST_CUTOFF, integratorGain, Matched } from './matched';

const STEPS: i32 = 64;
const STEPS_PER_CUTOFF: f64 = f64(STEPS) / HIGHEST_CUTOFF;
/** Of which there are limits at 0 that no formula gives. */
const LOWEST_CUTOFF: f64 = 1e-5;
/** Numbers a step, in pairs. */
const PLACES: i32 = 10;

export class MatchedTable {
  gain: f64 = 0;
  damping: f64 = 0;
  low2: f64 = 0;
  band1: f64 = 0;
  band2: f64 = 0;
  high0: f64 = 0;
  high1: f64 = 0;
  notch0: f64 = 0;
  notch1: f64 = 0;
  notchLow: f64 = 0;
  private readonly steps: StaticArray<f64> = new StaticArray<f64>(PLACES * (STEPS + 1));

  constructor(q: f64) {
    const section = new Matched(q);
    const steps = this.steps;
    for (let n: i32 = 0; n <= STEPS; n++) {
      const cutoff = n == 0 ? LOWEST_CUTOFF : f64(n) / STEPS_PER_CUTOFF;
      section.tune(cutoff);
      const at = PLACES * n;
      steps[at] = section.gain / integratorGain(cutoff);
      steps[at + 1] = section.damping;
      steps[at + 2] = section.low2;
      steps[at + 4] = section.band1;
      steps[at + 5] = section.band2;
      steps[at + 6] = section.high0;
      steps[at + 7] = section.high1;
      steps[at + 8] = section.notch0;
      steps[at + 9] = section.notch1;
    }
  }

  /** @param cutoff as a fraction of the sample rate, from 0; what is over HIGHEST_CUTOFF counts as that. */
  tune(cutoff: f64): void {
    const used = cutoff < HIGHEST_CUTOFF ? cutoff : HIGHEST_CUTOFF;
    const place = used * STEPS_PER_CUTOFF;
    const n = i32(Math.min(Math.floor(place), f64(STEPS - 1)));
    const share = f64x2.splat(place - f64(n));
    const at = changetype<usize>(this.steps) + ((<usize>(PLACES * n)) << 3);
    const a = between(at, share);
    this.gain = f64x2.extract_lane(a, 0) * integratorGain(used);
    this.damping = f64x2.extract_lane(a, 1);
    const b = between(at + 16, share);
    this.low2 = f64x2.extract_lane(b, 0);
    const c = between(at + 32, share);
    this.band1 = f64x2.extract_lane(c, 0);
    this.band2 = f64x2.extract_lane(c, 1);
    const d = between(at + 48, share);
    this.high0 = f64x2.extract_lane(d, 0);
    this.high1 = f64x2.extract_lane(d, 1);
    const e = between(at + 64, share);
    this.notch0 = f64x2.extract_lane(e, 0);
    this.notch1 = f64x2.extract_lane(e, 1);
    // So that 0 Hz passes as it came.
    this.notchLow = 1 / (this.notch0 + this.notch1);
  }
}

/** A pair, so much of the way from a step to the next. */
function between(at: usize, share: v128): v128 {
  const before = v128.load(at);
  return f64x2.add(before, f64x2.mul(share, f64x2.sub(v128.load(at, PLACES << 3), before)));
}
