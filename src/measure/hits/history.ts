/** Remembers the latest samples of a signal, so that a hit can be looked at once its end is known. */

const SHORTEST = 65_536;

export class SampleHistory {
  private readonly length: number;
  /** Grows to its length as samples come: a short recording needs little. */
  private ring: Float32Array;
  private copy = new Float64Array(0);
  private count = 0;
  private sum = 0;

  constructor(length: number) {
    this.length = length;
    this.ring = new Float32Array(Math.min(length, SHORTEST));
  }

  /** Of all samples so far, kept or not; 0 for none. */
  private get mean(): number {
    return this.count > 0 ? this.sum / this.count : 0;
  }

  add(samples: Float64Array, frames: number): void {
    while (this.ring.length < this.length && this.count + frames > this.ring.length) this.grow();
    const { ring } = this;
    let sum = 0;
    for (let from = 0; from < frames; ) {
      const at = (this.count + from) % ring.length;
      const to = Math.min(frames, from + ring.length - at);
      for (let n = from, place = at; n < to; n++, place++) {
        const value = samples[n] as number;
        ring[place] = value;
        sum += value;
      }
      from = to;
    }
    this.sum += sum;
    this.count += frames;
  }

  /** Before the ring is full, places in it are those in the signal. */
  private grow(): void {
    const longer = new Float32Array(Math.min(this.length, 2 * this.ring.length));
    longer.set(this.ring);
    this.ring = longer;
  }

  /** The samples `from` to `to`, counted from the first of all, less the mean so far; valid until the next call. */
  centred(from: number, to: number): Float64Array {
    const { ring, mean } = this;
    const count = to - from;
    if (this.copy.length < count) this.copy = new Float64Array(Math.min(2 * count, ring.length));
    const { copy } = this;
    for (let done = 0; done < count; ) {
      const at = (from + done) % ring.length;
      const end = Math.min(count, done + ring.length - at);
      for (let n = done, place = at; n < end; n++, place++) {
        copy[n] = (ring[place] as number) - mean;
      }
      done = end;
    }
    return copy.subarray(0, count);
  }
}
