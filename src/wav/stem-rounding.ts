/**
 * Rounds stems to the steps of a file so that they still sum to the mix.
 *
 * Rounded one by one, eight stems would sum to the mix within four steps. Here the partial sums are
 * rounded, of the first stem, of the first two, and so on, and each stem is the difference of two such
 * sums: so a stem is within a step of its exact value, and the last sum is the mix. At 16 bits all the sums of a
 * frame get the same dither (triangular, 2 steps wide), so that a silent stem stays silent. At 32f
 * nothing is rounded.
 */

import { Random } from '../modules/dsp/random.ts';
import type { Depth } from './wav-pack.ts';

/** Steps in full scale. */
const STEPS: { readonly [D in Depth]: number } = { '16': 32_768, '24': 8_388_608, '32f': 0 };
/** The same dither every time: the same patch gives the same file. */
const DITHER_SEEDS = Uint32Array.of(0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a);

export class StemRounding {
  /** The mix's channels, rounded; at 32f the samples as given. */
  readonly mix: readonly Float64Array[];
  /** For each stem its channels, rounded. */
  readonly stems: readonly (readonly Float64Array[])[];

  private readonly exactMix: readonly Float64Array[];
  private readonly exactStems: readonly (readonly Float64Array[])[];
  private readonly steps: number;
  private readonly dither: Random | undefined;

  /**
   * @param mix the mix's channels, blocks that are filled again before each `run`; 1 is full scale.
   * @param stems for each stem as many channels, which sum to the mix.
   */
  constructor(
    mix: readonly Float64Array[],
    stems: readonly (readonly Float64Array[])[],
    depth: Depth,
  ) {
    this.exactMix = mix;
    this.exactStems = stems;
    this.steps = STEPS[depth];
    this.dither = depth === '16' ? new Random(DITHER_SEEDS) : undefined;
    const blank = (signal: Float64Array): Float64Array => new Float64Array(signal.length);
    this.mix = depth === '32f' ? mix : mix.map(blank);
    this.stems = depth === '32f' ? stems : stems.map((channels) => channels.map(blank));
  }

  /** Rounds the first `frames` frames of the block. */
  run(frames: number): void {
    if (this.steps === 0) return;
    this.mix.forEach((mix, channel) => {
      const exactMix = this.exactMix[channel] as Float64Array;
      for (let i = 0; i < frames; i++) {
        const dither =
          this.dither === undefined ? 0 : this.dither.uniform() - this.dither.uniform();
        let sum = 0;
        let before = 0;
        for (let stem = 0; stem < this.stems.length; stem++) {
          sum += this.exactStems[stem]?.[channel]?.[i] as number;
          const rounded = this.round(sum, dither);
          (this.stems[stem]?.[channel] as Float64Array)[i] = rounded - before;
          before = rounded;
        }
        mix[i] = this.round(exactMix[i] as number, dither);
      }
    });
  }

  private round(value: number, dither: number): number {
    return Math.round(value * this.steps + dither) / this.steps;
  }
}
