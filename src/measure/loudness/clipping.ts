/** Flat tops: where a recording hit the limit of its converter or its medium. */

/** Equal samples in a row that make a flat top. */
const SHORTEST = 3;
/** Samples this near the peak count as at the peak. */
const ON_TOP = 0.9995;
/**
 * A wave's own crest is round: as far outside a flat spot as the spot is long, it has fallen no further
 * than nine times the spot's height, 7 % for a loud crest in 8 bits. A clipped wave has fallen more.
 */
const FALLEN = 0.15;

/**
 * Finds the last flat top of a stretch.
 * @returns the sample after it; `from` if nothing is clipped.
 */
export function clippedUntil(samples: Float64Array, from: number, to: number): number {
  let peak = 0;
  for (let n = from; n < to; n++) {
    const magnitude = Math.abs(samples[n] as number);
    if (magnitude > peak) peak = magnitude;
  }
  const limit = peak * ON_TOP;
  if (peak === 0) return from;
  if (isPiledUp(samples, from, to, peak))
    return 1 + samples.subarray(0, to).findLastIndex((sample) => Math.abs(sample) >= limit);
  let last = from;
  for (let n = from; n < to; n++) {
    const value = samples[n] as number;
    if (Math.abs(value) < limit) continue;
    let end = n + 1;
    while (end < to && Math.abs((samples[end] as number) - value) <= peak - limit) end++;
    const length = end - n;
    if (length >= SHORTEST && hasFallen(samples, n - length, end - 1 + length, value)) last = end;
    n = end - 1;
  }
  return last;
}

/** Samples at the peak that are a sign by themselves: a wave without a flat top has a few there by chance. */
const MANY = 12;
/** From this share of the peak on, there would be as many as at the peak, or more, if nothing were cut off. */
const BESIDE = 0.97;
/** A steady tone comes to its crest after at most three different numbers of samples (the three-distance theorem). */
const TONE_GAPS = 3;

/**
 * Whether so many samples are at the peak, and so few just under it, that what was beyond it was cut off. That tells
 * bright noise, of which no two samples in a row are alike, so that it has no flat tops. A sine, whose samples gather
 * at its crests more than those of any other wave that is not square, has 2 % there, and 14 % beside it, unless a few
 * samples are all there are of its period.
 */
function isPiledUp(samples: Float64Array, from: number, to: number, peak: number): boolean {
  let onTop = 0;
  let beside = 0;
  let last = from;
  const gaps = new Set<number>();
  for (let n = from; n < to; n++) {
    const magnitude = Math.abs(samples[n] as number);
    if (magnitude >= peak * ON_TOP) {
      if (onTop > 0) gaps.add(n - last);
      last = n;
      onTop++;
    } else if (magnitude >= peak * BESIDE) beside++;
  }
  return onTop >= MANY && onTop > 2 * beside && gaps.size > TONE_GAPS;
}

/** Whether the wave is well below the top on both sides. */
function hasFallen(samples: Float64Array, before: number, after: number, top: number): boolean {
  const drop = (n: number) => (top - (samples[n] ?? 0)) / top;
  return drop(before) > FALLEN && drop(after) > FALLEN;
}
