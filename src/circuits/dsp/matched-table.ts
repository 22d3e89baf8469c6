/**
 * The sections of `matched.ts` for every cutoff, for one that moves: worked out at even steps up to the
 * highest cutoff, with straight lines in between. The stored values bend little, and the gain of the
 * integrators is stored only as a share of tan(pi cutoff), so that pitch stays within 0.2 cents.
 */

import { HIGHEST_CUTOFF, integratorGain, Matched, Section } from './matched';

const STEPS: i32 = 64;
const STEPS_PER_CUTOFF: f64 = f64(STEPS) / HIGHEST_CUTOFF;
/** The lowest cutoff worked out: at 0 the formulas give no value, only a limit. */
const LOWEST_CUTOFF: f64 = 1e-5;
/** Numbers for each step, in pairs. */
const PLACES: i32 = 12;

export class MatchedTable extends Section {
  /** Where the step before the cutoff lies, and how far it is from there to the next, 0 to 1. */
  private at: usize = 0;
  private share: f64 = 0;
  private readonly steps: StaticArray<f64> = new StaticArray<f64>(PLACES * (STEPS + 1));

  constructor(q: f64) {
    super();
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
      steps[at + 10] = section.notch2;
    }
  }

  /**
   * Sets the coefficients of the loop; afterwards each output asks for its own.
   * @param cutoff as a fraction of the sample rate, from 0; higher ones count as HIGHEST_CUTOFF.
   */
  tune(cutoff: f64): void {
    const used = cutoff < HIGHEST_CUTOFF ? cutoff : HIGHEST_CUTOFF;
    const place = used * STEPS_PER_CUTOFF;
    const n = i32(Math.min(Math.floor(place), f64(STEPS - 1)));
    this.share = place - f64(n);
    this.at = changetype<usize>(this.steps) + ((<usize>(PLACES * n)) << 3);
    const loop = this.pair(0);
    this.gain = f64x2.extract_lane(loop, 0) * integratorGain(used);
    this.damping = f64x2.extract_lane(loop, 1);
  }

  tuneLow(): void {
    this.low2 = f64x2.extract_lane(this.pair(16), 0);
  }

  tuneBand(): void {
    const both = this.pair(32);
    this.band1 = f64x2.extract_lane(both, 0);
    this.band2 = f64x2.extract_lane(both, 1);
  }

  tuneHigh(): void {
    const both = this.pair(48);
    this.high0 = f64x2.extract_lane(both, 0);
    this.high1 = f64x2.extract_lane(both, 1);
  }

  tuneNotch(): void {
    const both = this.pair(64);
    this.notch0 = f64x2.extract_lane(both, 0);
    this.notch1 = f64x2.extract_lane(both, 1);
    this.notch2 = f64x2.extract_lane(this.pair(80), 0);
    // So that 0 Hz passes unchanged.
    this.notchLow = 1 / (this.notch0 + this.notch1 + this.notch2);
  }

  /** A pair of the step, interpolated towards that of the next. */
  private pair(bytes: usize): v128 {
    const at = this.at + bytes;
    const before = v128.load(at);
    const way = f64x2.sub(v128.load(at, PLACES << 3), before);
    return f64x2.add(before, f64x2.mul(f64x2.splat(this.share), way));
  }
}
