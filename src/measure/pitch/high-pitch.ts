/** The pitch of sounds that ring above 2.5 kHz: small bells, triangles, glasses. */

import { lowestAt } from '../golden-section.ts';
import { PeriodFinder } from './period.ts';

export interface HighPitch {
  readonly hz: number;
  /** The correlation one period on: 1 for a perfect repetition. */
  readonly clarity: number;
  /** How far the pitches of the two halves of the stretch differ, octaves. */
  readonly drift: number;
}

/** Samples in which a period is looked for, and its exact length. */
const FRAME = 1024;
const LONG = 4096;
/** Above this share of the sampling rate waves have too few samples. */
const HIGHEST = 0.4;
/** The exact pitch lies within this many line widths of the rough one. */
const WIDTHS = 1;
const ROUNDS = 24;

export class HighPitchMeter {
  private readonly sampleRate: number;
  private readonly periods: PeriodFinder;

  /** @param sampleRate Hz. */
  constructor(sampleRate: number) {
    this.sampleRate = sampleRate;
    this.periods = new PeriodFinder(sampleRate);
  }

  /**
   * Looks for the clearest period in the samples `from` to `to`.
   * @param lowest Hz; a wave that repeats more slowly does not count.
   * @returns null where none has the least clarity.
   */
  measure(
    samples: Float64Array,
    from: number,
    to: number,
    { lowest, leastClarity }: { readonly lowest: number; readonly leastClarity: number },
  ): HighPitch | null {
    const frame = Math.min(FRAME, to - from);
    const offsets = [0, 0.25, 0.5].map((share) => Math.round(share * (to - from - frame)));
    let best = null;
    for (const offset of new Set(offsets)) {
      const period = this.periods.find(samples, from + offset, from + offset + frame);
      if (period === null || period.hz < lowest || period.hz > HIGHEST * this.sampleRate) continue;
      if (best === null || period.clarity > best.clarity) best = { ...period, at: from + offset };
    }
    if (best === null || best.clarity < leastClarity) return null;
    const end = Math.min(to, best.at + LONG);
    const half = (best.at + end) >> 1;
    const hz = this.peak(samples, best.at, end, best.hz);
    const first = this.peak(samples, best.at, half, hz);
    const second = this.peak(samples, half, end, hz);
    return { hz, clarity: best.clarity, drift: Math.abs(Math.log2(second / first)) };
  }

  /** Where the spectrum of a stretch is highest near a frequency. */
  private peak(samples: Float64Array, from: number, to: number, near: number): number {
    const width = (WIDTHS * this.sampleRate) / Math.min(FRAME, to - from);
    const cost = (hz: number) => -this.power(samples, from, to, hz);
    return lowestAt(cost, near - width, near + width, ROUNDS);
  }

  /**
   * The power of one frequency under a Hann window. The two turning numbers are those of Goertzel's
   * method: G. Goertzel, An Algorithm for the Evaluation of Finite Trigonometric Series, Amer. Math.
   * Monthly 65 (1958) 34-35 (from memory).
   */
  private power(samples: Float64Array, from: number, to: number, hz: number): number {
    const turn = 2 * Math.cos((2 * Math.PI * hz) / this.sampleRate);
    const step = (2 * Math.PI) / (to - from);
    // The window's cosine follows from the same recurrence.
    const slow = 2 * Math.cos(step);
    let c1 = Math.cos(-step / 2);
    let c2 = Math.cos((-3 * step) / 2);
    let s1 = 0;
    let s2 = 0;
    for (let n = from; n < to; n++) {
      const c = slow * c1 - c2;
      c2 = c1;
      c1 = c;
      const s = (1 - c) * (samples[n] as number) + turn * s1 - s2;
      s2 = s1;
      s1 = s;
    }
    return s1 * s1 + s2 * s2 - turn * s1 * s2;
  }
}
