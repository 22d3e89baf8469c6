/**
 * Whether and how fast a wave repeats.
 *
 * Method: the correlation of a stretch with itself, shifted, each shift being divided by the energies
 * of the two pieces that overlap, so that a decay does not lower it. Compare P. McLeod & G. Wyvill, A
 * Smarter Way to Find Pitch, Proc. ICMC (2005) 138-141 (from memory), whose rule for choosing among the
 * peaks this is: the first that comes near the highest.
 */

import { RealTransform } from '../spectrum/transform.ts';

export interface Period {
  readonly hz: number;
  /** The correlation one period on: 1 for a perfect repetition, near 0 for noise. */
  readonly clarity: number;
}

const NEAR_HIGHEST = 0.9;
/** Twice the longest stretch, so that a shifted copy does not meet itself. */
const SIZE = 2048;

export class PeriodFinder {
  private readonly sampleRate: number;
  private readonly transform = new RealTransform(SIZE);
  private readonly time = new Float64Array(SIZE);

  /** @param sampleRate Hz. */
  constructor(sampleRate: number) {
    this.sampleRate = sampleRate;
  }

  /**
   * Finds the period of the samples `from` to `to`, at most 1024 of them.
   * @returns null if no shift up to half the stretch makes a peak.
   */
  find(samples: Float64Array, from: number, to: number): Period | null {
    const count = Math.min(to - from, SIZE / 2);
    const correlation = this.correlate(samples, from, count);
    const half = Math.floor(count / 2);
    const values = new Float64Array(half + 1);
    let head = correlation[0] as number;
    let tail = head;
    for (let shift = 0; shift <= half; shift++) {
      const energy = Math.sqrt(Math.max(0, head) * Math.max(0, tail));
      values[shift] = energy > 0 ? (correlation[shift] as number) / energy : 0;
      const last = samples[from + count - 1 - shift] as number;
      const first = samples[from + shift] as number;
      head -= last * last;
      tail -= first * first;
    }
    return this.choose(values);
  }

  /**
   * The correlation at each shift: the transform of the power spectrum, which being real and even
   * needs only a scale in place of an inverse.
   */
  private correlate(samples: Float64Array, from: number, count: number): Float64Array {
    const { time, transform } = this;
    const { re, im } = transform;
    for (let n = 0; n < count; n++) time[n] = samples[from + n] as number;
    time.fill(0, count);
    transform.run(time);
    time[0] = (re[0] as number) ** 2 / SIZE;
    for (let k = 1; k <= SIZE / 2; k++) {
      const real = re[k] as number;
      const imaginary = im[k] as number;
      const power = (real * real + imaginary * imaginary) / SIZE;
      time[k] = power;
      time[SIZE - k] = power;
    }
    transform.run(time);
    return re;
  }

  private choose(values: Float64Array): Period | null {
    const tops: { at: number; height: number }[] = [];
    let shift = 0;
    while (shift < values.length && (values[shift] as number) > 0) shift++;
    while (shift < values.length) {
      while (shift < values.length && (values[shift] as number) <= 0) shift++;
      let best = shift;
      for (; shift < values.length && (values[shift] as number) > 0; shift++) {
        if ((values[shift] as number) > (values[best] as number)) best = shift;
      }
      // A hill that the stretch's end cuts off has an unknown top.
      if (best + 1 < values.length) tops.push(topOf(values, best));
    }
    const highest = tops.reduce((most, { height }) => Math.max(most, height), 0);
    const chosen = tops.find(({ height }) => height >= NEAR_HIGHEST * highest);
    if (chosen === undefined) return null;
    return { hz: this.sampleRate / chosen.at, clarity: Math.min(1, chosen.height) };
  }
}

/** The top of a hill, by the parabola through its highest value and the neighbours. */
function topOf(values: Float64Array, best: number): { at: number; height: number } {
  const left = values[best - 1] as number;
  const middle = values[best] as number;
  const right = values[best + 1] as number;
  const bend = 2 * middle - left - right;
  if (!(bend > 0)) return { at: best, height: middle };
  const offset = Math.max(-0.5, Math.min(0.5, (right - left) / (2 * bend)));
  return { at: best + offset, height: middle + ((right - left) * offset) / 4 };
}
