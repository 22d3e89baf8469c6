/** The onset of one hit, found the same way in a recording and in a render. */

import { onsetSample } from '../hits/onset-time.ts';

/** Powers are compared over this, s. */
const HOP = 0.001;
/** A hit has certainly begun where it is within 13 dB of its loudest. */
const BEGUN = 0.05;
/** The exact sample is looked for so far around that, s. */
const BEFORE = 0.015;
const AFTER = 0.004;

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
  const hop = Math.max(1, Math.round(HOP * sampleRate));
  const count = Math.floor((Math.min(to, samples.length) - from) / hop);
  const powers = Array.from({ length: Math.max(0, count) }, (_, index) => {
    let sum = 0;
    for (let n = from + index * hop; n < from + (index + 1) * hop; n++)
      sum += (samples[n] as number) ** 2;
    return sum;
  });
  const loudest = powers.reduce((most, power) => Math.max(most, power), 0);
  if (!(loudest > 0)) return from;
  const begun = from + hop * powers.findIndex((power) => power >= BEGUN * loudest);
  const first = begun - Math.round(BEFORE * sampleRate);
  const last = Math.min(samples.length, begun + Math.round(AFTER * sampleRate));
  // Before its first sample a signal counts as silent, so that a hit that begins there is found there.
  const stretch = new Float64Array(last - first);
  const known = Math.max(0, first);
  stretch.set(samples.subarray(known, last), known - first);
  return Math.max(0, first + onsetSample(stretch, 0, stretch.length));
}
