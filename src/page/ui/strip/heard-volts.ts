/**
 * Makes the volts of a jack safe to hear: a tenth of them, without direct current, and never loud.
 * The volts of a gate or an envelope are direct current with steps in it; 5 V of it would be half of
 * full scale, and its steps are clicks.
 */

import { FULL_SCALE_VOLTS } from '../../../modules/output.ts';

/** Hz: the high-pass removes what is below, above all direct current. */
const CORNER = 20;
/** The largest peak-to-peak range, of full scale: -12 dBFS as a square wave. */
const MOST = 0.5;

/**
 * Turns the volts of a loop into its samples, those of all channels by one factor. A first-order high-pass,
 * y = a (y + x - former x) with a = 1 / (1 + 2 pi f / rate), runs twice round, so that the loop closes
 * without a step.
 * @param channels one round of the loop, V.
 */
export function heardChannels(
  channels: readonly Float32Array<ArrayBuffer>[],
  sampleRate: number,
): readonly Float32Array<ArrayBuffer>[] {
  const keep = 1 / (1 + (2 * Math.PI * CORNER) / sampleRate);
  let widest = 1e-9;
  for (const volts of channels) {
    let low = Infinity;
    let high = -Infinity;
    for (const value of volts) {
      low = Math.min(low, value);
      high = Math.max(high, value);
    }
    widest = Math.max(widest, high - low);
  }
  const gain = Math.min(1 / FULL_SCALE_VOLTS, MOST / widest);
  return channels.map((volts) => {
    const heard = new Float32Array(volts.length);
    let before = volts.at(-1) ?? 0;
    let out = 0;
    for (let round = 0; round < 2; round++)
      for (let frame = 0; frame < volts.length; frame++) {
        const value = volts[frame] as number;
        out = keep * (out + value - before);
        before = value;
        heard[frame] = out * gain;
      }
    return heard;
  });
}

/** The same for a single jack. */
export function heardVolts(
  volts: Float32Array<ArrayBuffer>,
  sampleRate: number,
): Float32Array<ArrayBuffer> {
  return heardChannels([volts], sampleRate)[0] as Float32Array<ArrayBuffer>;
}
