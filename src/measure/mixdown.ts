/**
 * One signal out of several channels, for finding and measuring hits.
 *
 * It is the mean of the channels, those of opposite sign to the first being inverted: a balanced
 * output in a stereo input gives two channels of opposite sign, whose plain mean is silence.
 */

/** Sound quieter than this, mean square, does not decide the signs: -70 dB. */
const LOUD_ENOUGH = 1e-7;
/** Correlation with the first channel under which a channel is inverted. */
const OPPOSED = -0.5;

export class Mixdown {
  private readonly gains: number[];
  private readonly mixed: Float64Array;
  private isDecided: boolean;

  /** @param longest the most frames that a block may have. */
  constructor(channels: number, longest: number) {
    this.gains = new Array<number>(channels).fill(1 / channels);
    this.mixed = new Float64Array(longest);
    this.isDecided = channels < 2;
  }

  /** @returns the mixed samples, `frames` of them, valid until the next call. */
  run(channels: readonly Float64Array[], frames: number): Float64Array {
    if (!this.isDecided) this.decide(channels, frames);
    const { mixed, gains } = this;
    const first = channels[0] as Float64Array;
    const second = channels[1] ?? first;
    const firstGain = gains[0] as number;
    const secondGain = gains[1] ?? 0;
    for (let n = 0; n < frames; n++) {
      mixed[n] = firstGain * (first[n] as number) + secondGain * (second[n] as number);
    }
    for (let c = 2; c < channels.length; c++) {
      const samples = channels[c] as Float64Array;
      const gain = gains[c] as number;
      for (let n = 0; n < frames; n++)
        mixed[n] = (mixed[n] as number) + gain * (samples[n] as number);
    }
    return mixed;
  }

  /** Decides the signs at the first block that is loud enough, and only there: a later change would click. */
  private decide(channels: readonly Float64Array[], frames: number): void {
    const first = channels[0] as Float64Array;
    channels.forEach((samples, c) => {
      let own = 0;
      let reference = 0;
      let both = 0;
      for (let n = 0; n < frames; n++) {
        const a = first[n] as number;
        const b = samples[n] as number;
        own += b * b;
        reference += a * a;
        both += a * b;
      }
      if (reference < LOUD_ENOUGH * frames || own < LOUD_ENOUGH * frames) return;
      this.isDecided = true;
      const isOpposed = both < OPPOSED * Math.sqrt(own * reference);
      this.gains[c] = (isOpposed ? -1 : 1) / channels.length;
    });
  }
}
