/**
 * When exactly a sound begins, given a stretch of samples in which it does.
 *
 * Method: the split of the stretch into two pieces of noise, of two variances, that makes the samples
 * likeliest: k ln(variance before) + (n - k) ln(variance after) is smallest there. Seismology picks
 * arrivals so. Source: N. Maeda, A Method for Reading and Checking Phase Times in Auto-Processing
 * System of Seismic Wave Data, Zisin 38 (1985) 365-379 (from memory).
 */

/** The fewest samples whose variance means anything. */
const FEWEST = 8;
/** Silence counts as noise 60 dB under the loudest, so that a floor which begins there is no onset. */
const SILENCE = 1e-6;

/**
 * Finds the first sample of the louder part.
 * @param samples a signal without offset.
 * @param from the first sample to look at.
 * @param to the sample after the last; the sound should be about its loudest there.
 * @param stride how exactly, in samples.
 * @returns an index from `from` to `to`; `from` if the stretch is shorter than 16 samples.
 */
export function onsetSample(samples: Float64Array, from: number, to: number, stride = 1): number {
  const count = to - from;
  if (count < 2 * FEWEST) return from;
  let total = 0;
  let largest = 0;
  for (let n = from; n < to; n++) {
    const value = samples[n] as number;
    const power = value * value;
    total += power;
    if (power > largest) largest = power;
  }
  const floor = largest * SILENCE;
  let best = from;
  let least = Number.POSITIVE_INFINITY;
  let before = 0;
  for (let k = 1; k <= count - FEWEST; k++) {
    const value = samples[from + k - 1] as number;
    before += value * value;
    if (k < FEWEST || k % stride !== 0) continue;
    const after = Math.max(0, total - before);
    const cost =
      k * Math.log(before / k + floor) + (count - k) * Math.log(after / (count - k) + floor);
    if (cost < least) {
      least = cost;
      best = from + k;
    }
  }
  return best;
}
