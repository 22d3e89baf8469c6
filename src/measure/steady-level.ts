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

/** Samples that move by less than this share of the whole are before the sound: 30 dB under it. */
const STILL = 10 ** (-30 / 20);
/** ... and so are they only if they move less than a wave of this frequency does from its crest on, Hz. */
const SLOWEST_HZ = 10;
/** The fewest samples that say anything. */
const FEWEST = 8;

/**
 * The steady level under the first samples of a recording: that of the samples before its first sound, if
 * there are enough of them to be no crest of a slow wave. A wave from -1 to 1 has moved by (pi f t)^2 of that
 * after a time t, so a millisecond is enough if it is still to 60 dB, and 6 ms if to 30 dB.
 * @param count how many of the samples to look at: about `ENOUGH`, if there are as many.
 * @param sampleRate Hz.
 * @returns 0 for none.
 */
export function openingLevel(samples: Float64Array, count: number, sampleRate: number): number {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (let n = 0; n < count; n++) {
    least = Math.min(least, samples[n] as number);
    most = Math.max(most, samples[n] as number);
  }
  const [first = 0] = samples;
  let still = 0;
  let moved = 0;
  for (let n = 0; n < count && moved <= STILL * (most - least); n++) {
    if (n >= FEWEST && moved <= ((Math.PI * SLOWEST_HZ * n) / sampleRate) ** 2 * (most - least))
      still = n;
    moved = Math.max(moved, Math.abs((samples[n] as number) - first));
  }
  return steadyLevel(samples, still || count);
}
