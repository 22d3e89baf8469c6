/** To four times the sample rate and back, for circuits that create new frequencies. See `half-band.ts`. */

import { BLOCK } from '../core/wire';
import { CleanSteepHalfBand, CleanWideHalfBand, SteepHalfBand, WideHalfBand } from './half-band';
import { pairAt, putPair } from './pair';

/** Samples after which earlier input has died away: 0.955^n is 1e-12. */
const LONG_AGO: i32 = 600;

export class FourTimesUp {
  private readonly doubler: CleanSteepHalfBand = new CleanSteepHalfBand();
  private readonly redoubler: CleanWideHalfBand = new CleanWideHalfBand();
  private isNew: bool = true;

  /** Makes four samples of each from `from` up to `to`. The first value counts as having always been there. */
  run(volts: StaticArray<f64>, from: i32, to: i32, line: StaticArray<f64>): void {
    if (this.isNew) {
      this.isNew = false;
      for (let n: i32 = 0; n < LONG_AGO; n++) this.step(volts[from], line, 4 * from);
    }
    for (let i = from; i < to; i++) this.step(volts[i], line, 4 * i);
  }

  settle(): void {
    this.doubler.settle();
    this.redoubler.settle();
  }

  private step(x: f64, line: StaticArray<f64>, at: i32): void {
    const two = this.doubler.run(f64x2.splat(x));
    putPair(line, at, this.redoubler.run(v128.shuffle<f64>(two, two, 0, 0)));
    putPair(line, at + 2, this.redoubler.run(v128.shuffle<f64>(two, two, 1, 1)));
  }
}

export class FourTimesDown {
  /** The input: a block at four times the rate. */
  readonly line: StaticArray<f64> = new StaticArray<f64>(4 * BLOCK);
  private readonly rehalver: WideHalfBand = new WideHalfBand();
  private readonly halver: SteepHalfBand = new SteepHalfBand();

  /** Makes sample `i` of the block from its four samples. */
  run(i: i32): f64 {
    const first = this.halved(4 * i);
    const second = this.halved(4 * i + 2);
    const both = this.halver.run(f64x2.replace_lane(f64x2.splat(second), 1, first));
    return 0.25 * (f64x2.extract_lane(both, 0) + f64x2.extract_lane(both, 1));
  }

  settle(): void {
    this.rehalver.settle();
    this.halver.settle();
  }

  private halved(at: i32): f64 {
    const two = pairAt(this.line, at);
    const both = this.rehalver.run(v128.shuffle<f64>(two, two, 1, 0));
    return f64x2.extract_lane(both, 0) + f64x2.extract_lane(both, 1);
  }
}
