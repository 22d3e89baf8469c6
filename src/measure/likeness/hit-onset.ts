/** The onset of one hit, found the same way in a recording and in a render. */

/**
 * A hit begins where it first comes within 20 dB of its loudest, as a share of that. Source: ISO 3382-1:2009, 5.3.2,
 * the start of an impulse response (from memory).
 */
const BEGUN = 0.1;
/** Its level is taken over this first, s: a single sample of noise before it is no beginning. */
const HOP = 0.001;

/**
 * Finds the first sample of a hit.
 * @param samples a signal without offset.
 * @param from where to look from, and `to` where the hit is over.
 * @returns `from` if it is silent there.
 */
export function hitOnset(
  samples: Float64Array,
  { from, to, sampleRate }: { from: number; to: number; sampleRate: number },
): number {
  const end = Math.min(to, samples.length);
  const hop = Math.max(1, Math.round(HOP * sampleRate));
  const count = Math.max(0, Math.floor((end - from) / hop));
  const powers = new Float64Array(count);
  let peak = 0;
  let loudest = 0;
  for (let k = 0; k < count; k++) {
    let sum = 0;
    for (let n = from + k * hop; n < from + (k + 1) * hop; n++) {
      const value = samples[n] as number;
      sum += value * value;
      peak = Math.max(peak, Math.abs(value));
    }
    powers[k] = sum;
    loudest = Math.max(loudest, sum);
  }
  if (!(loudest > 0)) return from;
  const begun = powers.findIndex((power) => power >= BEGUN * BEGUN * loudest);
  let onset = from + Math.max(0, begun - 1) * hop;
  while (Math.abs(samples[onset] as number) < BEGUN * peak) onset++;
  return onset;
}
