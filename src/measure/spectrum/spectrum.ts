/**
 * Power spectra by the fast Fourier transform, and single figures of a spectrum.
 *
 * A spectrum here is the energy or power in each bin, k = 0 ... size/2, one-sided: the bins add up to
 * the energy of the windowed samples (Parseval), so levels need no correction for bin width.
 */

import { RealTransform, tablesOf } from './transform.ts';

/** The periodic Hann window, sin^2. */
export function hann(size: number): Float64Array {
  return Float64Array.from({ length: size }, (_, n) => Math.sin((Math.PI * (n + 0.5)) / size) ** 2);
}

/**
 * The sine window. Frames that overlap by half add up to a weight of exactly one for every sample's
 * power (sin^2 + cos^2), so that a short hit counts the same wherever it falls.
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
  private readonly transform: RealTransform;
  private readonly frame: Float64Array;
  /** The even and the odd samples of a pair of frames, and their transforms. */
  private readonly evens: Float64Array;
  private readonly odds: Float64Array;
  private readonly evenBins: Float64Array;
  private readonly oddBins: Float64Array;

  /** @param window one weight a sample; its length, a power of two from 4, is the frame's. */
  constructor(window: Float64Array) {
    const size = window.length;
    this.window = window;
    this.transform = new RealTransform(size);
    this.frame = new Float64Array(size);
    this.evens = new Float64Array(size);
    this.odds = new Float64Array(size);
    this.evenBins = new Float64Array(size);
    this.oddBins = new Float64Array(size);
    this.energy = new Float64Array(size / 2 + 1);
  }

  /** Adds one frame: the `size` samples from `from` on. */
  add(samples: Float64Array, from = 0): void {
    const { window, frame, energy, transform } = this;
    const size = window.length;
    for (let n = 0; n < size; n++) {
      frame[n] = (samples[from + n] as number) * (window[n] as number);
    }
    transform.run(frame);
    addEnergy(transform, energy);
  }

  /**
   * Adds one frame of each of two signals, for the price of one: as real and imaginary part of one
   * transform Z, whose |Z[k]|^2 + |Z[-k]|^2 is twice the sum of the two signals' |X[k]|^2. Z itself is
   * put together from two transforms of half the size, which the processor's first cache can hold:
   * that is a quarter quicker.
   */
  addPair(first: Float64Array, second: Float64Array): void {
    const { window, evens, odds } = this;
    let sum = 0;
    let other = 0;
    for (let n = 0; n < window.length; n += 2) {
      const even = window[n] as number;
      const odd = window[n + 1] as number;
      const a = (first[n] as number) * even;
      const b = (second[n] as number) * even;
      const c = (first[n + 1] as number) * odd;
      const d = (second[n + 1] as number) * odd;
      evens[n] = a;
      evens[n + 1] = b;
      odds[n] = c;
      odds[n + 1] = d;
      sum += Math.abs(a) + Math.abs(b);
      other += Math.abs(c) + Math.abs(d);
    }
    if (sum + other > 0) this.addTransform();
  }

  private addTransform(): void {
    const { evens, odds, evenBins, oddBins, energy, window } = this;
    const { half, turns } = tablesOf(window.length);
    half.transform(evenBins, evens);
    half.transform(oddBins, odds);
    const last = window.length / 2;
    const scale = 1 / window.length;
    for (let k = 0; k < last; k++) {
      const evenRe = evenBins[2 * k] as number;
      const evenIm = evenBins[2 * k + 1] as number;
      const oddRe = oddBins[2 * k] as number;
      const oddIm = oddBins[2 * k + 1] as number;
      const cos = turns[2 * k] as number;
      const sin = turns[2 * k + 1] as number;
      const turnedRe = oddRe * cos - oddIm * sin;
      const turnedIm = oddRe * sin + oddIm * cos;
      // Z[k], and Z[k + size/2], which is Z[-(size/2 - k)].
      const re = evenRe + turnedRe;
      const im = evenIm + turnedIm;
      const mirrorRe = evenRe - turnedRe;
      const mirrorIm = evenIm - turnedIm;
      energy[k] = (energy[k] as number) + (re * re + im * im) * scale;
      energy[last - k] =
        (energy[last - k] as number) + (mirrorRe * mirrorRe + mirrorIm * mirrorIm) * scale;
    }
  }
}

/** Adds the energies of a frame's bins, 0 ... size/2, to those so far. */
export function addEnergy({ re, im }: RealTransform, energy: Float64Array): void {
  const last = energy.length - 1;
  const size = 2 * last;
  energy[0] = (energy[0] as number) + (re[0] as number) ** 2 / size;
  energy[last] = (energy[last] as number) + (re[last] as number) ** 2 / size;
  const scale = 2 / size;
  for (let k = 1; k < last; k++) {
    const real = re[k] as number;
    const imaginary = im[k] as number;
    energy[k] = (energy[k] as number) + (real * real + imaginary * imaginary) * scale;
  }
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
  for (let k = firstAbove(edges, fromHz) - 1; k < power.length; k++) {
    const low = edges[k] as number;
    const high = edges[k + 1] as number;
    if (low >= toHz) break;
    if (low >= fromHz && high <= toHz) {
      sum += power[k] as number;
      continue;
    }
    const inside = Math.min(high, toHz) - Math.max(low, fromHz);
    sum += (power[k] as number) * (inside / (high - low));
  }
  return sum;
}

/** The index of the first edge above `hz`, from 1; by halving. */
function firstAbove(edges: Float64Array, hz: number): number {
  let low = 0;
  let high = edges.length;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((edges[middle] as number) > hz) high = middle;
    else low = middle;
  }
  return high;
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
/** Bins whose product, of at least 1e-240, has one logarithm for all. */
const PER_LOGARITHM = 8;

/**
 * Spectral flatness: the geometric mean of the bins' power over their arithmetic mean. A tone comes
 * near 0. White noise gives exp(digamma(K))/K for K averaged frames: 0.561 for one, towards 1 for many.
 * The two lowest and the two highest bins are left out, since their statistics differ.
 * @param power a spectrum of at least 5 bins.
 * @returns from 0 to 1; null where there is no power.
 */
export function flatness(power: Float64Array): number | null {
  let sum = 0;
  let largest = 0;
  const from = 2;
  const to = power.length - 2;
  for (let k = from; k < to; k++) {
    const here = power[k] as number;
    sum += here;
    if (here > largest) largest = here;
  }
  if (!(sum > 0)) return null;
  let logs = 0;
  for (let k = from; k < to; ) {
    const end = Math.min(to, k + PER_LOGARITHM);
    let product = 1;
    for (; k < end; k++) {
      const share = (power[k] as number) / largest;
      product *= share > FLATNESS_FLOOR ? share : FLATNESS_FLOOR;
    }
    logs += Math.log(product);
  }
  const count = to - from;
  return Math.exp(logs / count) / (sum / (largest * count));
}
