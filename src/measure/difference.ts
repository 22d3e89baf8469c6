/** The difference of two sounds. */

type Samples = Float64Array | Float32Array;

/**
 * Subtracts one sound from another, sample by sample, and compares the difference with the two:
 * 10 log10(sum (a - b)^2 / ((sum a^2 + sum b^2) / 2)). Two unrelated sounds give +3 dB, two that
 * differ by a gain of 0.1 dB give -39 dB.
 * @param one one array a channel. The shorter sound is followed by silence, and one channel stands for
 *   both sides.
 * @param gain factor of the other, such as one that makes both equally loud.
 * @returns dB; null if nothing is left.
 */
export function differenceDb(
  one: readonly Samples[],
  other: readonly Samples[],
  gain = 1,
): number | null {
  let left = 0;
  let whole = 0;
  for (let c = 0; c < Math.max(one.length, other.length); c++) {
    const a = one[Math.min(c, one.length - 1)] ?? NOTHING;
    const b = other[Math.min(c, other.length - 1)] ?? NOTHING;
    for (let n = 0; n < Math.max(a.length, b.length); n++) {
      const x = a[n] ?? 0;
      const y = gain * (b[n] ?? 0);
      left += (x - y) * (x - y);
      whole += x * x + y * y;
    }
  }
  return left > 0 ? 10 * Math.log10(left / (whole / 2)) : null;
}

const NOTHING = new Float64Array(0);
