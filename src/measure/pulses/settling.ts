/**
 * A capacitor in the way of a clock that is too fast to show how its levels go back to 0 V between edges: it shows in
 * how both levels move together while the clock settles about 0 V.
 *
 *   m(t2) - m(t1) = -k (integral of y from t1 to t2),  m the middle between both levels
 *
 * The middle of the volts before the capacitor stands still, so that of those behind it moves by this alone, whatever
 * the clock does meanwhile.
 */

import { median } from '../median.ts';
import { type Capacitor, rateOf } from './capacitor.ts';

/** Of the swing: a middle that moves by less loses no pulse, since its levels are still near enough. */
const MOVES = 0.02;
/** Standard errors from which on a corner counts. */
const SURE = 5;
/** Of the usual swing: windows of less, or more, are not whole, such as the first and the last. */
const [LEAST, MOST] = [0.7, 1.4];
/** The fewest samples at either level. */
const FEWEST = 3;
/** Stretches that the recording is divided into, at most. */
const STRETCHES = 400;

interface SettlingWindow {
  /** Sample of its middle, and the sum of all samples up to there. */
  readonly at: number;
  readonly sum: number;
  readonly low: number;
  readonly high: number;
}

/** Gathers the levels of windows of some periods each. */
export class SettlingMeter {
  private readonly sampleRate: number;
  private readonly samples: Float64Array;
  private readonly windows: SettlingWindow[] = [];
  private count = 0;
  private time = 0;
  private sum = 0;
  private sumAtMiddle = 0;

  /** @param length samples of a window: some periods. */
  constructor(sampleRate: number, length: number) {
    this.sampleRate = sampleRate;
    this.samples = new Float64Array(length);
  }

  add(samples: Float64Array | Float32Array, count: number): void {
    const { length } = this.samples;
    for (let n = 0; n < count; n++) {
      const value = samples[n] as number;
      this.samples[this.count] = value;
      this.count += 1;
      this.time += 1;
      this.sum += value;
      if (this.count === length >> 1) this.sumAtMiddle = this.sum;
      if (this.count === length) this.close();
    }
  }

  /** @returns undefined where both levels stand still, or move in another way. */
  finish(): Capacitor | undefined {
    const usual = median(this.windows.map(({ low, high }) => high - low));
    const whole = this.windows.filter(
      ({ low, high }) => high - low > LEAST * usual && high - low < MOST * usual,
    );
    const stride = Math.max(1, Math.ceil(whole.length / STRETCHES));
    const ends = whole.filter((_, i) => i % stride === 0);
    const stretches = ends.slice(1).map((to, i) => {
      const from = ends[i] as SettlingWindow;
      return {
        first: middleOf(from),
        last: middleOf(to),
        length: to.at - from.at,
        integral: to.sum - from.sum,
      };
    });
    const fit = rateOf(stretches);
    if (fit === undefined || !(fit.rate > SURE * fit.error)) return undefined;
    const first = middleOf(ends[0] as SettlingWindow);
    const moved = ends.reduce((most, one) => Math.max(most, Math.abs(middleOf(one) - first)), 0);
    if (moved < MOVES * usual) return undefined;
    return { rate: fit.rate * this.sampleRate, offset: fit.offset };
  }

  private close(): void {
    const sorted = this.samples.slice().sort();
    const { length } = sorted;
    const middle = ((sorted[0] as number) + (sorted[length - 1] as number)) / 2;
    const above = sorted.findIndex((value) => value > middle);
    if (above >= FEWEST && length - above >= FEWEST)
      this.windows.push({
        at: this.time - length + (length >> 1),
        sum: this.sumAtMiddle,
        low: sorted[above >> 1] as number,
        high: sorted[(above + length) >> 1] as number,
      });
    this.count = 0;
  }
}

function middleOf({ low, high }: SettlingWindow): number {
  return (low + high) / 2;
}
