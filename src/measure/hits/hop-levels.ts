/** The latest powers of a signal in the bands of an onset detector, a hop at a time: about 1 ms. */

import { WHOLE } from './onset-bands.ts';

/** A power of two. */
export const HOPS_KEPT = 256;
/** Under this power there is no sound: -100 dB, and 60 dB under the loudest so far. */
const SILENCE = 1e-10;
const RELATIVE_SILENCE = 1e-6;
/** Power of a sound as soft as the recording's steps, which comes and goes with them, in squared steps. */
const STEPS = 1;
/** The loudest is kept to 1 dB, so that it seldom changes. */
const LOUDER = 1.26;

export class HopLevels {
  /** Hops so far; all but the last `HOPS_KEPT` are forgotten. */
  count = 0;
  /** Added to powers before they are compared. */
  silence = SILENCE;

  /** By band, the sum of the powers up to each hop: any mean is then one difference. */
  private readonly sums: readonly Float64Array[];
  private loudest = 0;
  private coarse = 0;

  constructor() {
    this.sums = Array.from({ length: WHOLE + 1 }, () => new Float64Array(HOPS_KEPT));
  }

  /** Takes in the powers of a hop. @returns whether `silence` has changed. */
  add(power: Float64Array): boolean {
    const slot = this.count & (HOPS_KEPT - 1);
    if (slot === 0) this.forget();
    for (let b = 0; b <= WHOLE; b++) {
      const sum = this.sums[b] as Float64Array;
      sum[slot] = (sum[(slot - 1) & (HOPS_KEPT - 1)] as number) + (power[b] as number);
    }
    this.count++;
    const whole = power[WHOLE] as number;
    if (!(whole > LOUDER * this.loudest)) return false;
    this.loudest = whole;
    this.settle();
    return true;
  }

  /** The step from one value to the next that samples can have; 0 for a fine one. */
  set step(size: number) {
    this.coarse = STEPS * size * size;
    this.settle();
  }

  private settle(): void {
    this.silence = Math.max(SILENCE + this.loudest * RELATIVE_SILENCE, this.coarse);
  }

  /** Mean power of a band over hops `from` to `to`; before the start there was silence. */
  mean(band: number, from: number, to: number): number {
    const sum = this.sums[band] as Float64Array;
    const until = to < 1 ? 0 : (sum[(to - 1) & (HOPS_KEPT - 1)] as number);
    const before = from < 1 ? 0 : (sum[(from - 1) & (HOPS_KEPT - 1)] as number);
    return (until - before) / (to - from);
  }

  /** The mean power over the `after` hops from `at` on, against that over the `before` hops ahead of it. */
  ratio(band: number, at: number, before: number, after: number): number {
    const { silence } = this;
    return (
      (this.mean(band, at, at + after) + silence) / (this.mean(band, at - before, at) + silence)
    );
  }

  /** Writes the levels of a band from hop `from` on, dB, as many as there is room for. */
  decibels(band: number, from: number, into: Float64Array): void {
    for (let n = 0; n < into.length; n++) {
      const power = this.mean(band, from + n, from + n + 1);
      into[n] = 10 * Math.log10(power + this.silence);
    }
  }

  /** Removes forgotten hops from the sums: in long sums rounding would hide quiet hops. */
  private forget(): void {
    for (const sum of this.sums) {
      const forgotten = sum[0] as number;
      for (let n = 0; n < HOPS_KEPT; n++) sum[n] = (sum[n] as number) - forgotten;
    }
  }
}
