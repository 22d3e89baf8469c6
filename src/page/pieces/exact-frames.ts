/**
 * Frames that a browser finds again. It is told where and when a source begins in seconds, as a number of 64
 * bits: one that times the rate is not a whole frame to the last bit lies between two samples for it, and it
 * mixes them, if only by a ten-thousand-millionth part.
 */

/** Of any rate and any two counts, both are exact within some 20 frames; of one, within 4. */
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

/** How many frames later than two that go together, of a clock and of a sound, both are exact; usually none. */
export function untilExact(one: number, other: number, sampleRate: number): number {
  let later = 0;
  while (later < MOST && !(isExact(one + later, sampleRate) && isExact(other + later, sampleRate)))
    later++;
  return later;
}
