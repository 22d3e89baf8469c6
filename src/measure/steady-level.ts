/** The steady level under the start of a signal: its offset, even if it begins in the middle of a sound. */

/** A stretch this long suppresses waves from 45 Hz on by 34 dB or more, s. */
export const ENOUGH = 0.085;

/**
 * Averages with a Hann window, whose side lobes keep waves out of the average.
 * Source: F. J. Harris, On the Use of Windows for Harmonic Analysis, Proc. IEEE 66 (1978) 51-83 (from
 * memory): the highest side lobe is 31 dB down and those that follow fall by 18 dB an octave.
 * @param count how many of the samples to look at: about `ENOUGH`, if there are as many.
 * @returns 0 for none.
 */
export function steadyLevel(samples: Float64Array, count: number): number {
  let sum = 0;
  let weights = 0;
  const step = (2 * Math.PI) / count;
  // Each cosine follows from the two before it.
  const turn = 2 * Math.cos(step);
  let before = Math.cos((-3 * step) / 2);
  let last = Math.cos(-step / 2);
  for (let n = 0; n < count; n++) {
    const here = turn * last - before;
    before = last;
    last = here;
    const weight = 1 - here;
    sum += weight * (samples[n] as number);
    weights += weight;
  }
  return count > 0 ? sum / weights : 0;
}

/** Samples 30 dB under the whole are before the sound. */
const STILL = 10 ** (-30 / 20);
/** A quiet start under this share of the stretch may be the crest of a slow wave. */
const LONG_ENOUGH = 0.25;

/**
 * The steady level under the first samples of a recording: that of the samples before its first sound, if
 * there are enough of them.
 * @param count how many of the samples to look at: about `ENOUGH`, if there are as many.
 * @returns 0 for none.
 */
export function openingLevel(samples: Float64Array, count: number): number {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (let n = 0; n < count; n++) {
    least = Math.min(least, samples[n] as number);
    most = Math.max(most, samples[n] as number);
  }
  const [first = 0] = samples;
  let still = 0;
  while (still < count && Math.abs((samples[still] as number) - first) <= STILL * (most - least))
    still++;
  return steadyLevel(samples, still >= LONG_ENOUGH * count ? still : count);
}
