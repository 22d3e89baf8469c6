/** Remembers the latest samples of a signal, so that a hit can be looked at once its end is known. */

export class History {
  private readonly ring: Float32Array;
  private copy = new Float64Array(0);
  private count = 0;
  private sum = 0;

  constructor(length: number) {
    this.ring = new Float32Array(length);
  }

  /** Of all samples so far, kept or not; 0 for none. */
  private get mean(): number {
    return this.count > 0 ? this.sum / this.count : 0;
  }

  add(samples: Float64Array, frames: number): void {
    const { ring } = this;
    let at = this.count % ring.length;
    for (let n = 0; n < frames; n++) {
      const value = samples[n] as number;
      ring[at] = value;
      this.sum += value;
      if (++at === ring.length) at = 0;
    }
    this.count += frames;
  }

  /** The samples `from` to `to`, counted from the first of all, less the mean so far; valid until the next call. */
  centred(from: number, to: number): Float64Array {
    const { ring, mean } = this;
    const count = to - from;
    if (this.copy.length < count) this.copy = new Float64Array(count);
    const { copy } = this;
    for (let n = 0, at = from % ring.length; n < count; n++) {
      copy[n] = (ring[at] as number) - mean;
      if (++at === ring.length) at = 0;
    }
    return copy.subarray(0, count);
  }
}
