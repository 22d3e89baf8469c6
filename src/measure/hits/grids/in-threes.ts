/** Equal steps, which are triplets as well as sixteenths of another tempo: onsets cannot tell which. */

/** How far apart the longest and the shortest step may be, as a ratio: what a steady hand leaves. */
const EVEN = 1.1;
/** With fewer steps another rhythm may begin like this. */
const FEWEST = 6;
/** Quarter notes a minute that a tempo is told between, one and its double. */
const SLOWEST = 80;

/**
 * The tempo at which strokes that are all as far apart are triplets, three to a quarter.
 * @param times s, in order, without grace strokes.
 * @returns quarter notes a minute, from 80 to 160; null where they are not all as far apart, or too few.
 */
export function tempoInThrees(times: readonly number[]): number | null {
  const [first = 0] = times;
  const last = times.at(-1) ?? 0;
  if (times.length <= FEWEST) return null;
  let [least, most] = [Number.POSITIVE_INFINITY, 0];
  for (let n = 1; n < times.length; n++) {
    const step = (times[n] as number) - (times[n - 1] as number);
    least = Math.min(least, step);
    most = Math.max(most, step);
  }
  if (!(least > 0) || most > EVEN * least) return null;
  let bpm = (60 * (times.length - 1)) / (3 * (last - first));
  while (bpm < SLOWEST) bpm *= 2;
  while (bpm >= 2 * SLOWEST) bpm /= 2;
  return bpm;
}
