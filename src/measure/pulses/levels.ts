/**
 * The two levels of a recorded gate or clock, from a histogram of its samples.
 *
 * Source: IEEE Std 181-2011, "IEEE Standard for Transitions, Pulses, and Related Waveforms", 5.2: the
 * states of a two-level waveform by the upper and lower halves of its histogram (from memory). Of each half the median is
 * taken, which ringing and transitions hardly move.
 */

/** The levels of a recorded gate, in units of the samples. */
export interface States {
  readonly low: number;
  readonly high: number;
  /** Standard deviation about the low and the high level, noise and droop together. */
  readonly spread: number;
  /** The mean of all samples: 0 if it went through a capacitor. */
  readonly mean: number;
  /** Samples at or beyond full scale. */
  readonly clipped: number;
}

/** Over twice full scale: 30 uV wide at 10 V full scale, a thousandth of the least gate worth the name. */
const BINS = 2 ** 19;
const RANGE = 2;
/** Spikes rarer than this are no level; a pulse of 1 ms every 10 s is ten times as frequent. */
const RARE = 1e-5;
/** Samples within this share of the swing about a first median belong to its level: the rest is transitions. */
const NEAR = 0.2;
/** Under this swing there are no two levels: -60 dB under full scale. */
const LEAST_SWING = 1e-3;
/** Two levels must be this many spreads apart; otherwise noise would be taken for pulses. */
const APART = 6;

/** Gathers samples; the levels are known when all are in. */
export class StateMeter {
  private readonly counts = new Uint32Array(BINS);
  /** Bins outside of these are empty: most are. */
  private first = BINS;
  private end = 0;
  private total = 0;
  private sum = 0;
  private clipped = 0;

  add(samples: Float64Array | Float32Array, count: number): void {
    const { counts } = this;
    let { first, end } = this;
    for (let n = 0; n < count; n++) {
      const value = samples[n] as number;
      const bin = Math.floor(((value + RANGE) / (2 * RANGE)) * BINS);
      const kept = Math.min(BINS - 1, Math.max(0, bin));
      counts[kept] = (counts[kept] as number) + 1;
      if (kept < first) first = kept;
      if (kept >= end) end = kept + 1;
      this.sum += value;
      if (Math.abs(value) >= FULL) this.clipped += 1;
    }
    this.total += count;
    this.first = first;
    this.end = end;
  }

  /** @returns undefined where two levels cannot be told apart: silence, noise, or too little of either. */
  finish(): States | undefined {
    const { total } = this;
    if (total === 0) return undefined;
    const least = this.quantile(0, BINS, RARE);
    const most = this.quantile(0, BINS, 1 - RARE);
    if (most - least < LEAST_SWING) return undefined;
    const middle = binOf((least + most) / 2);
    const low = this.level(0, middle, most - least);
    const high = this.level(middle, BINS, most - least);
    if (low === undefined || high === undefined) return undefined;
    const spread = Math.max(low.spread, high.spread);
    if (high.value - low.value < Math.max(LEAST_SWING, APART * spread)) return undefined;
    return {
      low: low.value,
      high: high.value,
      spread,
      mean: this.sum / total,
      clipped: this.clipped,
    };
  }

  private level(from: number, to: number, swing: number): StateLevel | undefined {
    const first = this.quantile(from, to, 0.5);
    if (!Number.isFinite(first)) return undefined;
    const [a, b] = [binOf(first - NEAR * swing), binOf(first + NEAR * swing)];
    const [start, end] = [Math.max(from, a), Math.min(to, b + 1)];
    const value = this.quantile(start, end, 0.5);
    // A Gaussian's quartiles lie 1.349 standard deviations apart; the tails of transitions do not count.
    const spread = (this.quantile(start, end, 0.75) - this.quantile(start, end, 0.25)) / 1.349;
    return { value, spread };
  }

  /** The median of the samples in bins `from` to `to`; NaN if there are none. */
  private quantile(from: number, to: number, share: number): number {
    const { counts } = this;
    const [start, end] = [Math.max(from, this.first), Math.min(to, this.end)];
    let all = 0;
    for (let bin = start; bin < end; bin++) all += counts[bin] as number;
    if (all === 0) return Number.NaN;
    const wanted = share * all;
    let passed = 0;
    for (let bin = start; bin < end; bin++) {
      const count = counts[bin] as number;
      if (passed + count >= wanted && count > 0)
        return (2 * RANGE * (bin + (wanted - passed) / count)) / BINS - RANGE;
      passed += count;
    }
    return RANGE;
  }
}

interface StateLevel {
  readonly value: number;
  readonly spread: number;
}

/** Just under full scale, the highest value of 16 bits. */
const FULL = 1 - 2 ** -15;

function binOf(value: number): number {
  return Math.min(BINS, Math.max(0, Math.floor(((value + RANGE) / (2 * RANGE)) * BINS)));
}
