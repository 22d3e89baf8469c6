/**
 * Loudness of a loop as it is played round and round.
 *
 * BS.1770 measures blocks of 400 ms, one each 100 ms, and leaves out those far under the rest. In a
 * loop played once these start at its first, second, ... tenth of a second; from the next round on
 * they start elsewhere, unless the loop is a whole number of tenths long. Where most of a loop is
 * silence, the gate turns that into a difference of up to half a LU.
 *
 * Source: Recommendation ITU-R BS.1770-5, Annex 1, over the loop repeated.
 * Deviation: blocks begin at whole milliseconds; and the ringing of the K-weighting filters at the
 * seam, some 20 ms of it, is not in the first block.
 */

import { WeightedPower } from './loudness.ts';

const STEPS_PER_SECOND = 1000;
/** s from one block to the next, and of each. */
const HOP = 0.1;
const BLOCK = 0.4;
/** Rounds after which the blocks have been at every place that they reach. */
const ROUNDS = 100;
/** This many blocks are enough to know the mean, however long the loop is. */
const MOST_BLOCKS = 20_000;

/** Measures all that comes in, repeated forever, as samples come. Keeps 8 kB a second of sound. */
export class LoopLoudnessMeter extends WeightedPower {
  constructor(sampleRate: number, channels: number, weights: readonly number[] = []) {
    super(sampleRate, channels, weights, STEPS_PER_SECOND);
  }

  protected blockPowers(): Float64Array {
    const { frames } = this;
    if (frames === 0) return new Float64Array(0);
    const energyTo = this.energies();
    const whole = energyTo(frames);
    const upTo = (frame: number): number => {
      const rounds = Math.floor(frame / frames);
      return rounds * whole + energyTo(frame - rounds * frames);
    };
    const block = Math.round(BLOCK * this.sampleRate);
    const count = Math.min(
      Math.ceil((ROUNDS * frames) / (HOP * this.sampleRate)),
      // The first round alone is enough for a long loop.
      Math.max(MOST_BLOCKS, Math.ceil(frames / (HOP * this.sampleRate))),
    );
    return Float64Array.from({ length: count }, (_, k) => {
      const start = Math.round(k * HOP * this.sampleRate) % frames;
      return (upTo(start + block) - upTo(start)) / block;
    });
  }

  /** Gives the energy of so many frames from the start; within a step it grows evenly. */
  private energies(): (frame: number) => number {
    const all = [0];
    for (const sum of this.sums) all.push((all.at(-1) as number) + sum);
    const last = this.sums.length;
    return (frame) => {
      const step = Math.min(last, Math.floor((frame * STEPS_PER_SECOND) / this.sampleRate));
      const from = this.startOfStep(step);
      const before = all[step] as number;
      const after = step < last ? (all[step + 1] as number) : before + this.sumOfStep();
      const to = step < last ? this.startOfStep(step + 1) : this.frames;
      return to > from ? before + ((after - before) * (frame - from)) / (to - from) : before;
    };
  }
}
