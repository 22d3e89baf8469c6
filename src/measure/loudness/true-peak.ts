/**
 * True peak: the highest point of the wave between the samples, which the sample peak misses.
 *
 * Method: Recommendation ITU-R BS.1770-5, Annex 2: oversample four times and take the largest
 * magnitude. Four points a sample still miss a crest by up to 0.55 dB at 0.45 fs, so a parabola
 * through the highest point and its neighbours finds the crest between them.
 * Deviation: the interpolator has 24 taps a phase, where the standard's example has 12, and is flat
 * within 0.1 dB to 0.45 fs, where the example is not.
 */

import { largest } from '../../modules/dsp/extremes.ts';
import { kaiser, sinc } from './kaiser.ts';

/** Taps on either side. */
const REACH = 12;
/** Near 40 dB of image rejection with a transition of 0.1 fs. */
const BETA = 3.6;
/** Samples looked at together when asking whether a new peak is possible at all. */
const CELL = 16;
const CELLS = 256;
/** The peak of a cell that has not been looked for. */
const UNKNOWN = -1;
/** At least REACH samples, in whole cells. */
const MARGIN = CELL;
/**
 * Between samples that all lie under this share of the largest, points a quarter off cannot exceed
 * it: points half a sample apart miss a crest by at most 3 dB, 0.707.
 */
const WORTH_A_LOOK = 0.65;
/** A parabola lifts the highest of points a quarter sample apart by no more than 0.7 dB. */
const WORTH_A_PARABOLA = 0.92;

const HALF = phase(0.5);
const QUARTER = phase(0.25);
const THREE_QUARTERS = phase(0.75);
/** For (left + right) and (left - right) of each pair: both quarter points from the same products. */
const EVEN = QUARTER.map((tap, j) => (tap + (THREE_QUARTERS[j] as number)) / 2);
const ODD = QUARTER.map((tap, j) => (tap - (THREE_QUARTERS[j] as number)) / 2);
/**
 * How far the interpolated wave can exceed the samples: the largest weight of the two samples around a
 * gap, and of all the others.
 */
const NEAR = largest([HALF, QUARTER].map((left) => weightOf(left, 0, 1)));
const REST = largest([HALF, QUARTER].map((left) => weightOf(left, 1, REACH)));

function weightOf(left: Float64Array, from: number, to: number): number {
  const right = left === HALF ? HALF : THREE_QUARTERS;
  let sum = 0;
  for (let j = from; j < to; j++) {
    sum += Math.abs(left[j] as number) + Math.abs(right[j] as number);
  }
  return sum;
}

/** The taps for the samples at and left of a gap, nearest first; the right ones mirror 1 - `at`. */
function phase(at: number): Float64Array {
  const tap = (x: number) => sinc(x) * kaiser(x / REACH, BETA);
  const left = Float64Array.from({ length: REACH }, (_, j) => tap(j + at));
  const right = Float64Array.from({ length: REACH }, (_, j) => tap(j + 1 - at));
  const sum = left.reduce((a, b) => a + b, 0) + right.reduce((a, b) => a + b, 0);
  return left.map((value) => value / sum);
}

/** Finds the true peak over all channels as samples come. */
export class TruePeakMeter {
  private readonly channels: readonly ChannelPeak[];

  /** @param channels how many. */
  constructor(channels: number) {
    this.channels = Array.from({ length: channels }, () => new ChannelPeak());
  }

  /** The largest magnitude among the samples themselves; complete after `finish`. */
  get samplePeak(): number {
    return largest(
      this.channels.map(({ samplePeak }) => samplePeak),
      0,
    );
  }

  /** Takes in the first `frames` frames of the channels, 1.0 being full scale. */
  add(channels: readonly Float64Array[], frames: number): void {
    this.channels.forEach((channel, c) => {
      channel.add(channels[c] as Float64Array, frames);
    });
  }

  /**
   * Ends the signal, silence following it.
   * @returns the true peak, 1.0 being full scale; 0 for silence or nothing.
   */
  finish(): number {
    return largest(
      this.channels.map((channel) => channel.finish()),
      0,
    );
  }
}

class ChannelPeak {
  samplePeak = 0;

  private peak = 0;
  /** A margin of past samples, the cells, and a margin of samples to come. */
  private readonly held = new Float64Array(MARGIN + CELLS * CELL + MARGIN);
  private readonly cellPeaks = new Float64Array(CELLS + 2);
  private readonly cellEnergies = new Float64Array(CELLS + 2);
  private filled = MARGIN;

  add(samples: Float64Array, frames: number): void {
    const { held } = this;
    for (let from = 0; from < frames; ) {
      const count = Math.min(frames - from, held.length - this.filled);
      held.set(samples.subarray(from, from + count), this.filled);
      this.filled += count;
      from += count;
      if (this.filled === held.length) this.scan();
    }
  }

  finish(): number {
    this.held.fill(0, this.filled);
    this.scan();
    this.scan();
    return this.peak;
  }

  /** Looks through the cells, then keeps two margins as the past of the next. */
  private scan(): void {
    const { held, cellPeaks, cellEnergies } = this;
    for (let cell = 0; cell < cellEnergies.length; cell++) {
      const energy = this.energyOf(cell * CELL);
      cellEnergies[cell] = energy;
      cellPeaks[cell] = UNKNOWN;
      // No sample is larger than the root of the energy of its cell.
      if (energy < this.samplePeak * this.samplePeak) continue;
      const most = this.peakOf(cell);
      if (most > this.samplePeak) this.samplePeak = most;
    }
    if (this.samplePeak > this.peak) this.peak = this.samplePeak;
    for (let cell = 1; cell <= CELLS; cell++) {
      const energy = Math.max(
        cellEnergies[cell - 1] as number,
        cellEnergies[cell] as number,
        cellEnergies[cell + 1] as number,
      );
      if (energy * (NEAR + REST) * (NEAR + REST) < this.peak * this.peak) continue;
      const most = Math.max(this.peakOf(cell - 1), this.peakOf(cell), this.peakOf(cell + 1));
      if (most * (NEAR + REST) > this.peak) this.scanCell(cell * CELL, most);
    }
    held.copyWithin(0, held.length - 2 * MARGIN);
    held.fill(0, 2 * MARGIN);
    this.filled = 2 * MARGIN;
  }

  /** Sums side by side, without a branch: a comparison with each sample would cost three times as much. */
  private energyOf(from: number): number {
    const { held } = this;
    let even = 0;
    let odd = 0;
    for (let n = from; n < from + CELL; n += 2) {
      const a = held[n] as number;
      const b = held[n + 1] as number;
      even += a * a;
      odd += b * b;
    }
    // Rounding must not hide a peak.
    return (even + odd) * (1 + 1e-9);
  }

  private peakOf(cell: number): number {
    const { held, cellPeaks } = this;
    let most = cellPeaks[cell] as number;
    if (most !== UNKNOWN) return most;
    most = 0;
    const end = (cell + 1) * CELL;
    for (let n = cell * CELL; n < end; n++) {
      const magnitude = Math.abs(held[n] as number);
      if (magnitude > most) most = magnitude;
    }
    cellPeaks[cell] = most;
    return most;
  }

  /** @param around the largest magnitude that any of the points can depend on. */
  private scanCell(from: number, around: number): void {
    const { held } = this;
    let before = Number.NaN;
    for (let n = from; n < from + CELL; n++) {
      const here = held[n] as number;
      const next = held[n + 1] as number;
      const near = Math.max(Math.abs(here), Math.abs(next));
      if (NEAR * near + REST * around <= this.peak) {
        before = Number.NaN;
        continue;
      }
      let half = 0;
      for (let j = 0; j < REACH; j++) {
        half += (HALF[j] as number) * ((held[n - j] as number) + (held[n + 1 + j] as number));
      }
      if (Math.max(near, Math.abs(half)) < WORTH_A_LOOK * this.peak) {
        before = Number.NaN;
        continue;
      }
      let even = 0;
      let odd = 0;
      for (let j = 0; j < REACH; j++) {
        const left = held[n - j] as number;
        const right = held[n + 1 + j] as number;
        even += (EVEN[j] as number) * (left + right);
        odd += (ODD[j] as number) * (left - right);
      }
      const first = even + odd;
      const third = even - odd;
      this.crest(before, here, first);
      this.crest(here, first, half);
      this.crest(first, half, third);
      this.crest(half, third, next);
      before = third;
    }
  }

  /** Raises the peak to the crest of the parabola through three points, if the middle is highest. */
  private crest(left: number, middle: number, right: number): void {
    const b = Math.abs(middle);
    if (!(b > WORTH_A_PARABOLA * this.peak)) return;
    const sign = middle < 0 ? -1 : 1;
    const a = left * sign;
    const c = right * sign;
    const bend = 2 * b - a - c;
    const isCrest = b >= a && b >= c && bend > 0;
    const crest = isCrest ? b + (c - a) ** 2 / (8 * bend) : b;
    if (crest > this.peak) this.peak = crest;
  }
}
