/** Strokes that follow one another so closely that the ear takes them for one sound: a flam, a clap. */

/**
 * Strokes within this of one another are heard as one, s. Source: the ear hears the first of two like
 * sounds and a second one up to 30 ms later as one; H. Haas, Ueber den Einfluss eines Einfachechos auf
 * die Hoersamkeit von Sprache, Acustica 1 (1951) 49-58 (from memory).
 */
export const TOGETHER = 0.03;

/**
 * Puts strokes together that are heard as one sound.
 * @param strokes in the order of their times, s.
 * @returns all of them, each with those that follow it closely.
 */
export function burstsOf<Stroke extends { readonly time: number }>(
  strokes: readonly Stroke[],
): readonly (readonly Stroke[])[] {
  const bursts: Stroke[][] = [];
  let last = Number.NEGATIVE_INFINITY;
  for (const stroke of strokes) {
    if (stroke.time - last < TOGETHER) bursts[bursts.length - 1]?.push(stroke);
    else bursts.push([stroke]);
    last = stroke.time;
  }
  return bursts;
}

/** Of strokes that are heard as one, the last, which rings on. */
export function ringing<Stroke extends { readonly time: number }>(
  strokes: readonly Stroke[],
): readonly Stroke[] {
  return burstsOf(strokes).flatMap((burst) => burst.at(-1) ?? []);
}
