/**
 * The tail of one signal, which rings on after the end of a loop, folded into the loop's length. It is summed
 * by itself and then added to the music, since sums depend on their order in the last bit; so a loop gets the
 * same samples whether it is played twice, or once and kept.
 */

export class FoldedTail {
  private readonly loopFrames: number;
  /** Frames of the loop, from its head on, that the tail has reached. */
  private reach = 0;
  /** One a frame of the loop; grows, since most tails are much shorter than the loop. */
  private sums = new Float64Array(0);

  /** @param loopFrames the length of the music; a loop of 0 frames collects nothing. */
  constructor(loopFrames: number) {
    this.loopFrames = loopFrames;
  }

  /**
   * Collects the next block of the signal, of which what lies after the music counts.
   * @param start frames before the block, those of the music too.
   * @param count frames in it.
   */
  collect(block: Float64Array, start: number, count: number): void {
    const { loopFrames } = this;
    if (loopFrames === 0) return;
    let from = Math.max(0, loopFrames - start);
    while (from < count) {
      const place = (start + from) % loopFrames;
      const to = Math.min(count, from + loopFrames - place);
      this.add(block.subarray(from, to), place);
      from = to;
    }
  }

  /**
   * Adds the tail to the first `count` samples, all of them unless given.
   * @param start where in the loop they lie.
   */
  addTo(samples: Float64Array, start = 0, count = samples.length): void {
    const { sums } = this;
    const within = Math.min(count, this.reach - start);
    for (let i = 0; i < within; i++)
      samples[i] = (samples[i] as number) + (sums[start + i] as number);
  }

  private add(samples: Float64Array, place: number): void {
    this.reach = Math.max(this.reach, place + samples.length);
    const sums = this.roomFor(this.reach);
    for (let i = 0; i < samples.length; i++)
      sums[place + i] = (sums[place + i] as number) + (samples[i] as number);
  }

  /** The sums, with room for so many. */
  private roomFor(count: number): Float64Array {
    if (count > this.sums.length) {
      const longer = new Float64Array(
        Math.min(this.loopFrames, Math.max(count, 2 * this.sums.length)),
      );
      longer.set(this.sums);
      this.sums = longer;
    }
    return this.sums;
  }
}
