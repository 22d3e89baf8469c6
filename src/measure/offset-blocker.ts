/**
 * Takes a steady offset out of a signal as it comes: a one-pole high-pass at 3 Hz that takes the first
 * sample for the offset, so that an offset does not start, or end, with a jump.
 */

const CUTOFF_HZ = 3;

export class OffsetBlocker {
  private readonly pole: number;
  private readonly output: Float64Array;
  private last = Number.NaN;
  private y = 0;

  /** @param longest the most samples that come at once. */
  constructor(sampleRate: number, longest: number) {
    this.pole = Math.exp((-2 * Math.PI * CUTOFF_HZ) / sampleRate);
    this.output = new Float64Array(longest);
  }

  /** @returns the first `count` samples without offset, valid until the next call. */
  run(samples: Float64Array, count: number): Float64Array {
    const { pole, output } = this;
    let last = Number.isNaN(this.last) ? (samples[0] as number) : this.last;
    let y = this.y;
    for (let n = 0; n < count; n++) {
      const x = samples[n] as number;
      y = x - last + pole * y;
      last = x;
      output[n] = y;
    }
    if (count > 0) this.last = last;
    // In silence the output fades for ever; numbers under 1e-308 would slow the processor down.
    this.y = Math.abs(y) < 1e-30 ? 0 : y;
    return output;
  }
}
