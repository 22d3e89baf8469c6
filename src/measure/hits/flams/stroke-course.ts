/** The course of a stroke's power: what strokes of one drum have in common, and by which they are known again. */

/** s; each power is that of so much sound. */
export const HOP = 0.001;
/** Hops of a course before its onset, and after it. */
export const BEFORE = 16;
export const AFTER = 176;
/** What a sample has in common with the one before it is left out, so that ringing weighs less than strokes do. */
const RINGS = 0.95;

/**
 * Mean squares of hops, the one at index `BEFORE` beginning with the onset; 0 where there are no samples.
 * @param onset index into `samples`.
 */
export function courseOf(samples: Float64Array, onset: number, sampleRate: number): Float32Array {
  const hop = HOP * sampleRate;
  return Float32Array.from({ length: BEFORE + AFTER }, (_, h) => {
    const from = Math.max(1, Math.round(onset + (h - BEFORE) * hop));
    const to = Math.min(samples.length, Math.round(onset + (h + 1 - BEFORE) * hop));
    let sum = 0;
    for (let n = from; n < to; n++) {
      const left = (samples[n] as number) - RINGS * (samples[n - 1] as number);
      sum += left * left;
    }
    return to > from ? sum / (to - from) : 0;
  });
}
