/**
 * The steps of a recording of few bits, as its samples come: a sound as soft as one step comes and goes
 * by whole steps, which is not a stroke.
 */

/** Full scale is 1: from 8 bits to 12. Finer steps are far under the audible part of a hit. */
const COARSEST = 2 ** -7;
const FINEST = 2 ** -11;

export class SampleSteps {
  /** The coarsest step that all samples so far are multiples of; 0 for a finer one, and for silence. */
  size = 0;

  private tried = COARSEST;
  private isSilent = true;

  /** Takes in the samples `from` to `to`. @returns whether `size` has changed. */
  add(samples: Float64Array, from: number, to: number): boolean {
    // Most recordings are known to be fine after a few samples.
    if (this.tried < FINEST) return false;
    const before = this.size;
    for (let n = from; n < to; n++) {
      const value = samples[n] as number;
      if (value === 0) continue;
      this.isSilent = false;
      while (this.tried >= FINEST && !Number.isInteger(value / this.tried)) this.tried /= 2;
      if (this.tried < FINEST) break;
    }
    this.size = this.isSilent || this.tried < FINEST ? 0 : this.tried;
    return this.size !== before;
  }
}
