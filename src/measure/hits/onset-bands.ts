/**
 * The power of a signal in three bands, a millisecond at a time: the input of an onset detector.
 * A kick under a ringing hat shows in the lowest band alone, a hat over a ringing kick in the highest.
 */

/** Borders of the bands, Hz. */
const LOW_HZ = 200;
const HIGH_HZ = 2000;
/** Steady volts and drift below this are removed, Hz. */
const OFFSET_HZ = 10;

/** After the bands, the whole signal without its offset. */
export const WHOLE = 3;

export class OnsetBands {
  /** Mean square of the hop that ended last, in each band and the whole. */
  readonly power = new Float64Array(4);
  /** The latest of the whole signal without its offset, and of its part above 2 kHz: rings. */
  readonly whole: Float64Array;
  readonly high: Float64Array;

  private readonly lowPass: Poles;
  private readonly lowCut: Poles;
  private readonly highPass: Poles;
  private readonly pole: number;
  /** Where in the rings the next sample goes. */
  private place = 0;
  private count = 0;
  private lastInput = 0;
  // The last two samples of the whole, of the low band, of all above it, and of the high band.
  private y1 = 0;
  private y2 = 0;
  private l1 = 0;
  private l2 = 0;
  private c1 = 0;
  private c2 = 0;
  private h1 = 0;
  private h2 = 0;
  private lowSum = 0;
  private middleSum = 0;
  private highSum = 0;
  private wholeSum = 0;

  /** @param kept how many samples the rings hold: a whole number of hops. */
  constructor(sampleRate: number, kept: number) {
    this.whole = new Float64Array(kept);
    this.high = new Float64Array(kept);
    this.lowPass = butterworth('low', LOW_HZ / sampleRate);
    this.lowCut = butterworth('high', LOW_HZ / sampleRate);
    this.highPass = butterworth('high', Math.min(0.45, HIGH_HZ / sampleRate));
    this.pole = Math.exp((-2 * Math.PI * OFFSET_HZ) / sampleRate);
  }

  /** Takes in the samples `from` to `to`, of one hop at most. */
  run(samples: Float64Array, from: number, to: number): void {
    const { whole, high, pole } = this;
    const { gain: lowGain, a1: la1, a2: la2 } = this.lowPass;
    const { gain: cutGain, a1: ca1, a2: ca2 } = this.lowCut;
    const { gain: highGain, a1: ha1, a2: ha2 } = this.highPass;
    let last = this.lastInput;
    // The state is kept in variables meanwhile: fields would be written at every sample.
    let { y1, y2, l1, l2, c1, c2, h1, h2, lowSum, middleSum, highSum, wholeSum, place } = this;
    for (let i = from; i < to; i++, place++) {
      const x = samples[i] as number;
      const y = x - last + pole * y1;
      const l = lowGain * (y + 2 * y1 + y2) - la2 * l2 - la1 * l1;
      const c = cutGain * (y - 2 * y1 + y2) - ca2 * c2 - ca1 * c1;
      const h = highGain * (c - 2 * c1 + c2) - ha2 * h2 - ha1 * h1;
      const m = c - h;
      last = x;
      y2 = y1;
      y1 = y;
      l2 = l1;
      l1 = l;
      c2 = c1;
      c1 = c;
      h2 = h1;
      h1 = h;
      whole[place] = y;
      high[place] = h;
      lowSum += l * l;
      middleSum += m * m;
      highSum += h * h;
      wholeSum += y * y;
    }
    this.lastInput = last;
    this.y1 = y1;
    this.y2 = y2;
    this.l1 = l1;
    this.l2 = l2;
    this.c1 = c1;
    this.c2 = c2;
    this.h1 = h1;
    this.h2 = h2;
    this.lowSum = lowSum;
    this.middleSum = middleSum;
    this.highSum = highSum;
    this.wholeSum = wholeSum;
    this.place = place;
    this.count += to - from;
  }

  /** The offset that the input has at present, which is removed. */
  get offset(): number {
    return this.lastInput - this.y1;
  }

  /** Starts with an offset that is known, so that it makes no jump. */
  set offset(value: number) {
    this.lastInput = value + this.y1;
  }

  /** Ends the hop, leaving its mean squares in `power`. */
  endHop(): void {
    const { count, power } = this;
    power[0] = this.lowSum / count;
    power[1] = this.middleSum / count;
    power[2] = this.highSum / count;
    power[WHOLE] = this.wholeSum / count;
    this.lowSum = 0;
    this.middleSum = 0;
    this.highSum = 0;
    this.wholeSum = 0;
    this.count = 0;
    if (this.place === this.whole.length) this.place = 0;
    this.settle();
  }

  /** In silence the outputs fade forever; numbers under 1e-308 would slow the processor down. */
  private settle(): void {
    const { y1, l1, l2, c1, c2, h1, h2 } = this;
    const most = Math.abs(y1) + Math.abs(l1) + Math.abs(l2) + Math.abs(c1) + Math.abs(c2);
    if (most + Math.abs(h1) + Math.abs(h2) > 1e-30) return;
    this.y1 = 0;
    this.y2 = 0;
    this.l1 = 0;
    this.l2 = 0;
    this.c1 = 0;
    this.c2 = 0;
    this.h1 = 0;
    this.h2 = 0;
  }
}

/** A section whose numerator is `gain` (1 +- 2/z + 1/z^2) and whose denominator is 1 + a1/z + a2/z^2. */
interface Poles {
  readonly gain: number;
  readonly a1: number;
  readonly a2: number;
}

/**
 * A Butterworth section of second order by the bilinear transform, for the direct form I, whose
 * recursion waits for one product and one sum a sample.
 * Source: Oppenheim & Schafer, Discrete-Time Signal Processing, bilinear transformation (from memory).
 * @param cutoff as a share of the sample rate.
 */
function butterworth(type: 'low' | 'high', cutoff: number): Poles {
  const t = Math.tan(Math.PI * cutoff);
  const norm = 1 / (1 + Math.SQRT2 * t + t * t);
  return {
    gain: type === 'low' ? t * t * norm : norm,
    a1: 2 * (t * t - 1) * norm,
    a2: (1 - Math.SQRT2 * t + t * t) * norm,
  };
}
