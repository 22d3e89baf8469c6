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

/** Whether the wave is well below the top on both sides. */
function hasFallen(samples: Float64Array, before: number, after: number, top: number): boolean {
  const drop = (n: number) => (top - (samples[n] ?? 0)) / top;
  return drop(before) > FALLEN && drop(after) > FALLEN;
}
