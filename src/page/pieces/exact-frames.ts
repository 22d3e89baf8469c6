/**
 * Frames that a browser starts at exactly. Where and when a source begins is given in seconds, as a number of
 * 64 bits. If that number times the rate is not a whole frame to the last bit, the browser takes the place to
 * lie between two samples, and mixes them, if only by a ten-thousand-millionth part.
 */

/** At any rate, a count becomes exact within 4 frames, and two counts together within about 20. */
const MOST = 50;

/** Whether a frame's time in s, times the rate, is the frame again. */
export function isExact(frame: number, sampleRate: number): boolean {
  return (frame / sampleRate) * sampleRate === frame;
}

/** The first exact frame from one on; usually that one. */
export function exactFrom(frame: number, sampleRate: number): number {
  let exact = frame;
  while (exact < frame + MOST && !isExact(exact, sampleRate)) exact++;
  return exact;
}

/** How many frames to wait until both a frame of a clock and one of a sound are exact; usually 0. */
export function untilExact(one: number, other: number, sampleRate: number): number {
  let later = 0;
  while (later < MOST && !(isExact(one + later, sampleRate) && isExact(other + later, sampleRate)))
    later++;
  return later;
}
