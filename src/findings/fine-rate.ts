/** Rates of times that samples at the usual rate are too coarse for. */

/** Hz, the highest rate that is played: edges that only playing tells are within half a sample of it, 2.6 us. */
export const FINEST_PLAYED = 192_000;
/** Hz, of edges that are worked out: a sample is 20 ns, under any time that a jack's facts state. */
export const FINE_RATE = 256 * FINEST_PLAYED;
