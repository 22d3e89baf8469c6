/** Counts in words. */

/** As `1 step`, `2 steps`, `0 steps`. @param word whose plural takes an s. */
export function counted(count: number, word: string): string {
  return `${count} ${count === 1 ? word : `${word}s`}`;
}

/** Several counts, each as {@link counted}; zeros are left out. */
export function countedEach(counts: readonly (readonly [count: number, word: string])[]): string[] {
  return counts.filter(([count]) => count > 0).map(([count, word]) => counted(count, word));
}
