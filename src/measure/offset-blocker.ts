/**
 * Removes a steady offset from a signal as it comes: a one-pole high-pass at 3 Hz that starts from the
 * level of the first block, so that neither an offset nor a sound that has begun before makes a jump.
 */

import { ENOUGH, openingLevel } from './steady-level.ts';

const CUTOFF_HZ = 3;

export class OffsetBlocker {
  private readonly sampleRate: number;
  private readonly pole: number;
  private readonly output: Float64Array;
  private last: number | null = null;
  private y = 0;

  /** @param longest the most samples in one call. */
  constructor(sampleRate: number, longest: number) {
    this.sampleRate = sampleRate;
    this.pole = Math.exp((-2 * Math.PI * CUTOFF_HZ) / sampleRate);
    this.output = new Float64Array(longest);
  }

  /** @returns the first `count` samples without offset, valid until the next call. */
  run(samples: Float64Array, count: number): Float64Array {
    const { sampleRate, pole, output } = this;
    const opening = Math.min(count, Math.ceil(ENOUGH * sampleRate));
    let last = this.last ?? openingLevel(samples, opening, sampleRate);
    let y = this.y;
    for (let n = 0; n < count; n++) {
      const x = samples[n] as number;
      y = x - last + pole * y;
      last = x;
      output[n] = y;
    }
    if (count > 0) this.last = last;
    // In silence the output fades forever; numbers under 1e-308 would slow the processor down.
    this.y = Math.abs(y) < 1e-30 ? 0 : y;
    return output;
  }
}
