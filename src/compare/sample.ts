/** Some of many, where all would be too much to see. */

/** Spectrograms that are shown at most. */
export const MOST_PICTURES = 36;

/** So many of them, the first, the last, and evenly between. */
export function chosen<T>(all: readonly T[], count: number): T[] {
  if (all.length <= count) return [...all];
  return Array.from(
    { length: count },
    (_, index) => all[Math.round((index * (all.length - 1)) / (count - 1))] as T,
  );
}
