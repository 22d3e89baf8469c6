/** Samples as they come from a file or an engine, and in blocks of one length. */

/** One array a channel; the samples, 1.0 being full scale, are read before the next block is asked for. */
export interface SampleBlock {
  readonly channels: readonly (Float32Array | Float64Array)[];
  /** How many samples of each array count. */
  readonly frames: number;
}

/** A recording, block by block. */
export interface SampleSource {
  /** Hz. */
  readonly sampleRate: number;
  /** How many channels each block has. */
  readonly channels: number;
  /** The weight of each channel in the loudness; 1 if left out. */
  readonly weights?: readonly number[];
  readonly blocks: Iterable<SampleBlock> | AsyncIterable<SampleBlock>;
}

/** A receiver of samples, a block at a time. */
export interface BlockTaker {
  /** Takes the first `frames` of each array, which is overwritten afterwards. */
  take(channels: readonly Float64Array[], frames: number): void;
}

/** Frames in a block that is handed on; the last of all may have fewer. */
export const EVEN = 4096;

/** Hands samples on in blocks of {@link EVEN} frames: how they came in does not matter afterwards. */
export class EvenBlocks {
  private readonly channels: number;
  private readonly to: BlockTaker;
  private readonly block: readonly Float64Array[];
  private filled = 0;

  constructor(channels: number, to: BlockTaker) {
    this.channels = channels;
    this.to = to;
    this.block = Array.from({ length: channels }, () => new Float64Array(EVEN));
  }

  /** @throws RangeError if a channel is missing. */
  add({ channels, frames }: SampleBlock): void {
    for (let from = 0; from < frames; ) {
      const whole = this.wholeBlock(channels, from, frames);
      if (whole !== undefined) {
        this.to.take(whole, EVEN);
        from += EVEN;
        continue;
      }
      const count = Math.min(EVEN - this.filled, frames - from);
      this.block.forEach((buffer, c) => {
        const samples = channels[c];
        if (samples === undefined) throw new RangeError(`channel ${c + 1} is missing`);
        buffer.set(samples.subarray(from, from + count), this.filled);
      });
      this.filled += count;
      from += count;
      if (this.filled === EVEN) this.end();
    }
  }

  /** Hands on the remaining frames. */
  end(): void {
    const { filled } = this;
    this.filled = 0;
    if (filled > 0) this.to.take(this.block, filled);
  }

  /** A whole block, which need not be copied first. */
  private wholeBlock(
    channels: SampleBlock['channels'],
    from: number,
    frames: number,
  ): readonly Float64Array[] | undefined {
    if (this.filled > 0 || frames - from < EVEN || channels.length < this.channels) return;
    const block: Float64Array[] = [];
    for (let c = 0; c < this.channels; c++) {
      const samples = channels[c];
      if (!(samples instanceof Float64Array)) return;
      block.push(samples.subarray(from, from + EVEN));
    }
    return block;
  }
}

/** The largest magnitude of the samples `from` to `to`, as far as these exist; 0 for none. */
export function peakOf(samples: Float64Array, from = 0, to = samples.length): number {
  let peak = 0;
  const last = Math.min(to, samples.length);
  for (let n = from; n < last; n++) {
    const magnitude = Math.abs(samples[n] as number);
    if (magnitude > peak) peak = magnitude;
  }
  return peak;
}
