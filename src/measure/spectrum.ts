/**
 * Power spectra by the fast Fourier transform, and what one number can say of a spectrum.
 *
 * A spectrum here is the energy or power in each bin, k = 0 ... size/2, one-sided: the bins add up to
 * the energy of the windowed samples (Parseval), so levels need no correction for bin width.
 */

import FFT from 'fft.js';

/** No window: for frames that start and end in silence, or for noise. */
export function rectangular(size: number): Float64Array {
  return new Float64Array(size).fill(1);
}

/** The periodic Hann window, sin^2. */
export function hann(size: number): Float64Array {
  return Float64Array.from({ length: size }, (_, n) => Math.sin((Math.PI * (n + 0.5)) / size) ** 2);
}

/**
 * The sine window. Frames that overlap by half add up to a weight of exactly one for every sample's
 * power (sin^2 + cos^2), so that a short hit counts alike wherever it falls.
 * Source: Princen & Bradley, Analysis/Synthesis Filter Bank Design Based on Time Domain Aliasing
 * Cancellation, IEEE Trans. ASSP 34 (1986) 1153-1161 (from memory).
 */
export function sine(size: number): Float64Array {
  return Float64Array.from({ length: size }, (_, n) => Math.sin((Math.PI * (n + 0.5)) / size));
}

/** Adds up the power spectra of frames of one size. */
export class Periodogram {
  /** Energy in bins 0 ... size/2, summed over the frames so far. */
  readonly energy: Float64Array;

  private readonly window: Float64Array;
  private readonly fft: FFT;
  private readonly frame: Float64Array;
  private readonly frames: Float64Array;
  private readonly bins: Float64Array;

  /** @param window one weight a sample; its length, a power of two from 4, is the frame's. */
  constructor(window: Float64Array) {
    const size = window.length;
    this.window = window;
    this.fft = new FFT(size);
    this.frame = new Float64Array(size);
    this.frames = new Float64Array(2 * size);
    this.bins = new Float64Array(2 * size);
    this.energy = new Float64Array(size / 2 + 1);
  }

  /** Adds one frame: the `size` samples from `from` on. */
  add(samples: Float64Array, from = 0): void {
    const { window, frame, bins, energy } = this;
    const size = window.length;
    for (let n = 0; n < size; n++) {
      frame[n] = (samples[from + n] as number) * (window[n] as number);
    }
    // Gives bins 0 to size/2.
    this.fft.realTransform(bins, frame);
    for (let k = 0; k <= size / 2; k++) {
      const scale = k === 0 || k === size / 2 ? 1 / size : 2 / size;
      energy[k] = (energy[k] as number) + powerOf(bins, k) * scale;
    }
  }

  /**
   * Adds one frame of each of two signals, for the price of one: as real and imaginary part of one
   * transform Z, whose |Z[k]|^2 + |Z[-k]|^2 is twice the sum of the two signals' |X[k]|^2.
   */
  addPair(first: Float64Array, second: Float64Array, from = 0): void {
    const { window, frames } = this;
    let sum = 0;
    for (let n = 0; n < window.length; n++) {
      const weight = window[n] as number;
      const a = (first[from + n] as number) * weight;
      const b = (second[from + n] as number) * weight;
      frames[2 * n] = a;
      frames[2 * n + 1] = b;
      sum += Math.abs(a) + Math.abs(b);
    }
    if (sum > 0) this.addTransform();
  }

  private addTransform(): void {
    const { bins, energy, window } = this;
    const size = window.length;
    this.fft.transform(bins, this.frames);
    const scale = 1 / size;
    energy[0] = (energy[0] as number) + powerOf(bins, 0) * scale;
    const last = size / 2;
    energy[last] = (energy[last] as number) + powerOf(bins, last) * scale;
    for (let k = 1; k < last; k++) {
      const power = powerOf(bins, k) + powerOf(bins, size - k);
      energy[k] = (energy[k] as number) + power * scale;
    }
  }
}

function powerOf(bins: Float64Array, k: number): number {
  const re = bins[2 * k] as number;
  const im = bins[2 * k + 1] as number;
  return re * re + im * im;
}

/** Neighbouring strips of frequency and the power in each. */
export interface Strips {
  /** The strips' borders, Hz, rising: one more than there are strips. */
  readonly edges: Float64Array;
  readonly power: Float64Array;
}

/**
 * The borders of a spectrum's bins: each reaches half a bin to either side.
 * @param bins how many, from bin 0 to that at half the sample rate.
 */
export function binEdges(bins: number, sampleRate: number): Float64Array {
  const binHz = sampleRate / 2 / (bins - 1);
  return Float64Array.from({ length: bins + 1 }, (_, k) =>
    Math.min(Math.max(k - 0.5, 0) * binHz, sampleRate / 2),
  );
}

/** The power between two frequencies, a strip that is cut counting by the part inside. */
export function powerBetween({ edges, power }: Strips, fromHz: number, toHz: number): number {
  let sum = 0;
  for (let k = 0; k < power.length; k++) {
    const low = edges[k] as number;
    const high = edges[k + 1] as number;
    if (high <= fromHz) continue;
    if (low >= toHz) break;
    const inside = Math.min(high, toHz) - Math.max(low, fromHz);
    sum += (power[k] as number) * (inside / (high - low));
  }
  return sum;
}

/**
 * The centre of gravity of the power over frequency, from `fromHz` up.
 * @returns Hz; null where there is no power.
 */
export function centroid({ edges, power }: Strips, fromHz: number): number | null {
  let sum = 0;
  let moment = 0;
  for (let k = 0; k < power.length; k++) {
    const low = edges[k] as number;
    const high = edges[k + 1] as number;
    if (low < fromHz) continue;
    sum += power[k] as number;
    moment += ((power[k] as number) * (low + high)) / 2;
  }
  return sum > 0 ? moment / sum : null;
}

/**
 * The frequency below which `share` of the power from `fromHz` up lies.
 * @param share from 0 to 1.
 * @returns Hz; null where there is no power.
 */
export function quantileHz(strips: Strips, share: number, fromHz: number): number | null {
  const { edges, power } = strips;
  const total = powerBetween(strips, fromHz, edges[edges.length - 1] as number);
  if (!(total > 0)) return null;
  let sum = 0;
  for (let k = 0; k < power.length; k++) {
    const low = edges[k] as number;
    if (low < fromHz) continue;
    const here = power[k] as number;
    if (sum + here >= share * total && here > 0) {
      return low + ((edges[k + 1] as number) - low) * ((share * total - sum) / here);
    }
    sum += here;
  }
  return edges[edges.length - 1] as number;
}

/** Bins under this share of the strongest count as this: an empty bin must not decide the whole. */
const FLATNESS_FLOOR = 1e-30;

/**
 * Spectral flatness: the geometric mean of the bins' power over their arithmetic mean. A tone comes
 * near 0. White noise gives exp(digamma(K))/K for K averaged frames: 0.561 for one, towards 1 for many.
 * The two lowest and the two highest bins are left out, having other statistics.
 * @param power a spectrum of at least 5 bins.
 * @returns from 0 to 1; null where there is no power.
 */
export function flatness(power: Float64Array): number | null {
  let sum = 0;
  let largest = 0;
  const from = 2;
  const to = power.length - 2;
  for (let k = from; k < to; k++) {
    sum += power[k] as number;
    largest = Math.max(largest, power[k] as number);
  }
  if (!(sum > 0)) return null;
  let logs = 0;
  for (let k = from; k < to; k++) {
    logs += Math.log(Math.max(power[k] as number, largest * FLATNESS_FLOOR));
  }
  const count = to - from;
  return Math.exp(logs / count) / (sum / count);
}
