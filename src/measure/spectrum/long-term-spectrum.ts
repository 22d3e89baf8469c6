/**
 * The spectrum of a whole recording, taken in as it comes: Welch's averaged periodograms.
 *
 * Third-octave bands ask for fine resolution at the bottom and none at the top, so there are two: one
 * at the full rate, and for the lowest frequencies one of the signal brought down to about 3 kHz.
 * Source: P. D. Welch, The Use of Fast Fourier Transform for the Estimation of Power Spectra,
 * IEEE Trans. Audio Electroacoust. 15 (1967) 70-73 (from memory).
 */

import { Decimator } from '../decimator.ts';
import { binEdges, Periodogram, type Strips, sine } from './spectrum.ts';

const SIZE = 2048;
const WINDOW = sine(SIZE);
/** The rate that the low part is brought down to, Hz, or a little above. */
const LOW_RATE = 3000;
/** Below this the fine spectrum counts, Hz. The decimator is flat to here. */
const SEAM_HZ = 450;

export interface LongTermSpectrum {
  /** Mean square in each strip, averaged over time and channels. */
  readonly strips: Strips;
  /** The full-rate part alone, in bins of one width, as flatness needs them. */
  readonly bins: Float64Array;
}

/** Collects the long-term spectrum of a signal. Memory does not grow with length. */
export class LongTermSpectrumMeter {
  private readonly sampleRate: number;
  private readonly channels: number;
  private readonly full: OverlappedFrames;
  private readonly decimators: readonly Decimator[];
  private readonly low: OverlappedFrames;
  private frames = 0;

  constructor(sampleRate: number, channels: number) {
    this.sampleRate = sampleRate;
    this.channels = channels;
    const factor = Math.max(1, Math.floor(sampleRate / LOW_RATE));
    this.full = new OverlappedFrames(channels);
    this.low = new OverlappedFrames(channels);
    this.decimators = Array.from(
      { length: channels },
      () => new Decimator(factor, SEAM_HZ / sampleRate),
    );
  }

  /** Takes in the first `frames` frames of the channels. */
  add(channels: readonly Float64Array[], frames: number): void {
    this.frames += frames;
    this.full.add(channels, frames);
    const reduced = this.decimators.map((decimator, c) =>
      decimator.run(channels[c] as Float64Array, frames),
    );
    this.low.add(reduced, this.decimators[0]?.count ?? 0);
  }

  /** Ends the signal. For silence, or nothing, all power is 0. */
  finish(): LongTermSpectrum {
    const { sampleRate } = this;
    const factor = this.decimators[0]?.factor ?? 1;
    const samples = Math.max(1, this.frames) * this.channels;
    const full = strips(this.full.finish(1 / samples), sampleRate);
    const tails = this.decimators.map((decimator) => decimator.flush());
    this.low.add(tails, this.decimators[0]?.count ?? 0);
    // Each sample of the low part stands for `factor` samples.
    const low = strips(this.low.finish(factor / samples), sampleRate / factor);
    return { strips: joined(low, full), bins: full.power };
  }
}

function strips(power: Float64Array, sampleRate: number): Strips {
  return { edges: binEdges(power.length, sampleRate), power };
}

/** The low strips up to the first border of the full ones above the seam, then those. */
function joined(low: Strips, full: Strips): Strips {
  const first = full.edges.findIndex((edge) => edge >= SEAM_HZ);
  const seam = full.edges[first] as number;
  if (first < 0 || seam > (low.edges[low.edges.length - 1] as number)) return full;
  const count = low.edges.findIndex((edge) => edge >= seam);
  const lastLow = low.edges[count - 1] as number;
  const share = (seam - lastLow) / ((low.edges[count] as number) - lastLow);
  const power = [...low.power.slice(0, count), ...full.power.slice(first)];
  power[count - 1] = (power[count - 1] as number) * share;
  return {
    edges: Float64Array.from([...low.edges.slice(0, count), ...full.edges.slice(first)]),
    power: Float64Array.from(power),
  };
}

/** Sums the spectra of frames that overlap by half, over all channels. */
class OverlappedFrames {
  private readonly size = SIZE;
  private readonly periodogram: Periodogram;
  /** One buffer a channel: the last half frame and room for the next half. */
  private readonly buffers: readonly Float64Array[];
  private readonly silent: Float64Array;
  /** Where the next sample goes. Half a frame of silence comes first. */
  private filled: number;
  /** A mono signal's frame that waits for a second one to be transformed with it. */
  private readonly waiting: Float64Array;
  private isWaiting = false;

  constructor(channels: number) {
    const { size } = this;
    this.periodogram = new Periodogram(WINDOW);
    this.buffers = Array.from({ length: channels }, () => new Float64Array(size));
    this.silent = new Float64Array(size);
    this.waiting = new Float64Array(size);
    this.filled = size / 2;
  }

  add(channels: readonly Float64Array[], frames: number): void {
    for (let from = 0; from < frames; ) {
      const count = Math.min(frames - from, this.size - this.filled);
      this.buffers.forEach((buffer, c) => {
        buffer.set((channels[c] as Float64Array).subarray(from, from + count), this.filled);
      });
      this.filled += count;
      from += count;
      if (this.filled === this.size) this.endFrame();
    }
  }

  /** The energy in each bin times `scale`, after enough silence for every sample to count in full. */
  finish(scale: number): Float64Array {
    const half = this.size / 2;
    const rest = this.filled - half;
    const silence = this.buffers.map(() => new Float64Array(this.size));
    this.add(silence, rest === 0 ? half : this.size - rest);
    if (this.isWaiting) this.periodogram.addPair(this.waiting, this.silent);
    this.isWaiting = false;
    return this.periodogram.energy.map((energy) => energy * scale);
  }

  private endFrame(): void {
    const { buffers, periodogram } = this;
    let c = 0;
    for (; c + 1 < buffers.length; c += 2) {
      periodogram.addPair(buffers[c] as Float64Array, buffers[c + 1] as Float64Array);
    }
    if (c < buffers.length) this.addSingle(buffers[c] as Float64Array);
    for (const buffer of buffers) buffer.copyWithin(0, this.size / 2);
    this.filled = this.size / 2;
  }

  private addSingle(buffer: Float64Array): void {
    if (this.isWaiting) this.periodogram.addPair(this.waiting, buffer);
    else this.waiting.set(buffer);
    this.isWaiting = !this.isWaiting;
  }
}
