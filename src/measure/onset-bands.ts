/**
 * The power of a signal in three bands, a millisecond at a time: what an onset detector looks at.
 * A kick under a ringing hat shows in the lowest band alone, a hat over a ringing kick in the highest.
 */

/** Borders of the bands, Hz. */
const LOW_HZ = 200;
const HIGH_HZ = 2000;
/** Steady volts and drift below this are taken out, Hz. */
const OFFSET_HZ = 10;

/** The bands, and the whole signal without its offset. */
export const BAND_NAMES = ['low', 'middle', 'high'] as const;
export const WHOLE = 3;

export class OnsetBands {
  /** Mean square of the hop that ended last, in each band and the whole. */
  readonly power = new Float64Array(4);
  /** The whole signal without its offset, and its part above 2 kHz, as long as the last block. */
  whole = new Float64Array(0);
  high = new Float64Array(0);

  private readonly lowPass: Section;
  private readonly lowCut: Section;
  private readonly highPass: Section;
  private readonly pole: number;
  private lastInput = Number.NaN;
  private lastWhole = 0;

  constructor(sampleRate: number) {
    this.lowPass = new Section('low', LOW_HZ / sampleRate);
    this.lowCut = new Section('high', LOW_HZ / sampleRate);
    this.highPass = new Section('high', Math.min(0.45, HIGH_HZ / sampleRate));
    this.pole = Math.exp((-2 * Math.PI * OFFSET_HZ) / sampleRate);
  }

  /** Takes in the samples `from` to `to`, leaving their mean squares in `power`. */
  run(samples: Float64Array, from: number, to: number): void {
    if (this.whole.length < samples.length) {
      this.whole = new Float64Array(samples.length);
      this.high = new Float64Array(samples.length);
    }
    const { whole, high, lowPass, lowCut, highPass, pole } = this;
    // The first sample is taken for steady, so that an offset makes no jump at the start.
    let last = Number.isNaN(this.lastInput) ? (samples[from] as number) : this.lastInput;
    let y = this.lastWhole;
    let lowSum = 0;
    let middleSum = 0;
    let highSum = 0;
    let wholeSum = 0;
    for (let i = from; i < to; i++) {
      const x = samples[i] as number;
      y = x - last + pole * y;
      last = x;
      const l = lowPass.run(y);
      const cut = lowCut.run(y);
      const h = highPass.run(cut);
      const m = cut - h;
      whole[i] = y;
      high[i] = h;
      lowSum += l * l;
      middleSum += m * m;
      highSum += h * h;
      wholeSum += y * y;
    }
    this.lastInput = last;
    this.lastWhole = Math.abs(y) < 1e-30 ? 0 : y;
    lowPass.settle();
    lowCut.settle();
    highPass.settle();
    const count = to - from;
    this.power[0] = lowSum / count;
    this.power[1] = middleSum / count;
    this.power[2] = highSum / count;
    this.power[WHOLE] = wholeSum / count;
  }
}

/**
 * A Butterworth section of second order by the bilinear transform.
 * Source: Oppenheim & Schafer, Discrete-Time Signal Processing, bilinear transformation (from memory).
 */
class Section {
  private readonly b0: number;
  private readonly b1: number;
  private readonly a1: number;
  private readonly a2: number;
  private s1 = 0;
  private s2 = 0;

  /** @param cutoff as a share of the sample rate. */
  constructor(type: 'low' | 'high', cutoff: number) {
    const t = Math.tan(Math.PI * cutoff);
    const norm = 1 / (1 + Math.SQRT2 * t + t * t);
    this.b0 = type === 'low' ? t * t * norm : norm;
    this.b1 = type === 'low' ? 2 * this.b0 : -2 * this.b0;
    this.a1 = 2 * (t * t - 1) * norm;
    this.a2 = (1 - Math.SQRT2 * t + t * t) * norm;
  }

  run(x: number): number {
    const y = this.b0 * x + this.s1;
    this.s1 = this.b1 * x - this.a1 * y + this.s2;
    this.s2 = this.b0 * x - this.a2 * y;
    return y;
  }

  /** In silence the state fades for ever; numbers under 1e-308 would slow the processor down. */
  settle(): void {
    if (Math.abs(this.s1) + Math.abs(this.s2) < 1e-30) {
      this.s1 = 0;
      this.s2 = 0;
    }
  }
}
