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

import { KFilter, kWeighting, loudnessOfBlocks } from './loudness.ts';

const STEPS_PER_SECOND = 1000;
/** s from one block to the next, and of each. */
const HOP = 0.1;
const BLOCK = 0.4;
/** Rounds after which the blocks have been at every place that they reach. */
const ROUNDS = 100;
/** This many blocks are enough to know the mean, however long the loop is. */
const MOST_BLOCKS = 20_000;

/** Measures as samples come. Keeps 8 kB a second of sound. */
export class LoopLoudnessMeter {
  private readonly sampleRate: number;
  private readonly filters: readonly KFilter[];
  private readonly weights: readonly number[];
  /** Energy from the start to the end of each whole step, the first being 0. */
  private readonly energies: number[] = [0];
  private frames = 0;
  private stepEnd: number;

  /**
   * @param sampleRate Hz, from 8000 to 384000.
   * @param channels how many.
   * @param weights the factor of each channel's power by ITU-R BS.1770: 1 in front, 1.41 aside, 0 for an LFE
   *   channel; 1 if left out.
   * @throws RangeError if the sample rate is outside that.
   */
  constructor(sampleRate: number, channels: number, weights: readonly number[] = []) {
    this.sampleRate = sampleRate;
    this.weights = weights;
    const sections = kWeighting(sampleRate);
    this.filters = Array.from({ length: channels }, () => new KFilter(sections));
    this.stepEnd = this.startOfStep(1);
  }

  /**
   * Takes in the first `frames` frames of the channels, 1.0 being full scale.
   * @throws Error if a sample is not finite, once the millisecond that holds it is complete.
   */
  add(channels: readonly Float64Array[], frames: number): void {
    for (let from = 0; from < frames; ) {
      const to = Math.min(frames, from + this.stepEnd - this.frames);
      for (let c = 0; c < this.filters.length; c++)
        (this.filters[c] as KFilter).run(channels[c] as Float64Array, from, to);
      this.frames += to - from;
      from = to;
      if (this.frames === this.stepEnd) this.endStep();
    }
  }

  /**
   * Gives the loudness of all that came in, repeated forever, in LUFS.
   * @param gainDb as if it were played so much louder: the gate at -70 LUFS does not move with it.
   * @returns -Infinity for silence, for no samples, and if all of it is below -70 LUFS.
   */
  integrated(gainDb = 0): number {
    const { frames } = this;
    if (frames === 0) return Number.NEGATIVE_INFINITY;
    const whole = this.energyTo(frames);
    const upTo = (frame: number): number => {
      const rounds = Math.floor(frame / frames);
      return rounds * whole + this.energyTo(frame - rounds * frames);
    };
    const gain = 10 ** (gainDb / 10);
    const block = Math.round(BLOCK * this.sampleRate);
    const count = Math.min(
      Math.ceil((ROUNDS * frames) / (HOP * this.sampleRate)),
      // The first round alone is enough for a long loop.
      Math.max(MOST_BLOCKS, Math.ceil(frames / (HOP * this.sampleRate))),
    );
    const powers = Float64Array.from({ length: count }, (_, k) => {
      const start = Math.round(k * HOP * this.sampleRate) % frames;
      return (gain * (upTo(start + block) - upTo(start))) / block;
    });
    return loudnessOfBlocks(powers);
  }

  /** Energy of that many frames from the start; within a step it grows evenly. */
  private energyTo(frame: number): number {
    const { energies } = this;
    const last = energies.length - 1;
    const step = Math.min(last, Math.floor((frame * STEPS_PER_SECOND) / this.sampleRate));
    const from = this.startOfStep(step);
    const before = energies[step] as number;
    const after = step < last ? (energies[step + 1] as number) : before + this.sumOfStep();
    const to = step < last ? this.startOfStep(step + 1) : this.frames;
    return to > from ? before + ((after - before) * (frame - from)) / (to - from) : before;
  }

  private endStep(): void {
    const sum = this.sumOfStep();
    if (!Number.isFinite(sum))
      throw new Error(`a sample up to frame ${this.frames} is not a finite number`);
    this.energies.push((this.energies.at(-1) as number) + sum);
    for (const filter of this.filters) filter.endHop();
    this.stepEnd = this.startOfStep(this.energies.length);
  }

  private sumOfStep(): number {
    return this.filters.reduce((sum, filter, c) => sum + (this.weights[c] ?? 1) * filter.sum, 0);
  }

  /** The frame at which a step starts; a step need not be a whole number of frames. */
  private startOfStep(step: number): number {
    return Math.round((step * this.sampleRate) / STEPS_PER_SECOND);
  }
}
