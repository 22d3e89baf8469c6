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
/** A floor is 14 dB softer than the sound on it, and its first quarter as loud as its last, to 9 dB. */
const SOFTER = 25;
const STEADY = 8;
/** The fewest samples in a quarter whose power means anything. */
const FEWEST_IN_QUARTER = 4;

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

/**
 * Whether a recording begins with its floor, rather than with the rise of a sound: a floor is as loud at its end as
 * at its start. A rise in a straight line, and the first part of any sine, is 16 dB louder in its last quarter.
 * @param samples the beginning of the recording, without offset.
 * @param to where the sound begins, if not at the first sample; what follows is about its loudest.
 */
export function isFloorUntil(samples: Float64Array, to: number): boolean {
  const quarter = to >> 2;
  if (quarter < FEWEST_IN_QUARTER || to >= samples.length) return false;
  if (!(SOFTER * meanSquare(samples, 0, to) < meanSquare(samples, to, samples.length)))
    return false;
  const first = meanSquare(samples, 0, quarter);
  const last = meanSquare(samples, to - quarter, to);
  return last <= STEADY * first && first <= STEADY * last;
}

function meanSquare(samples: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let n = from; n < to; n++) sum += (samples[n] as number) ** 2;
  return sum / (to - from);
}
