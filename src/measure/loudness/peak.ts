/** The largest sample of a recording: its sample peak, which is not its true peak. */

import { dbOfGain } from '../../modules/dsp/math.ts';

/** Finds the sample peak over all channels as samples come. */
export class PeakMeter {
  /** The largest magnitude so far, 1.0 being full scale; 0 for nothing. */
  peak = 0;

  /**
   * Takes in the first `frames` frames of the channels.
   * @throws Error if a sample is not finite.
   */
  add(channels: readonly Float64Array[], frames: number): void {
    let peak = this.peak;
    for (const samples of channels) {
      for (let i = 0; i < frames; i++) {
        const magnitude = Math.abs(samples[i] as number);
        if (!(magnitude <= peak)) {
          if (!Number.isFinite(magnitude)) throw new Error(`sample ${i} is ${samples[i]}`);
          peak = magnitude;
        }
      }
    }
    this.peak = peak;
  }

  /** The peak in dB against full scale (1.0, the peak of a full-scale sine); -Infinity for silence. */
  get dbfs(): number {
    return dbOfGain(this.peak);
  }
}
