/**
 * Whether a recorded gate is upside down, as an inverting input makes it: it rests high, and is low for each pulse.
 * By widths alone this cannot be told of a clock that is high for as long as it is low, unless it is seen at rest.
 */

import { largest, smallest } from '../../modules/dsp/extremes.ts';
import { median } from '../median.ts';
import type { PulseMeasures } from './pulses.ts';

/** What is longer than this many of the others is none of them. */
const LONGER = 1.5;
/** Of the swing: a high so near 0 V is 0 V, within an interface's own offset. */
const NEAR_ZERO = 0.1;

/**
 * Tells it.
 * @param width s, of the longest pulse that is planned, where that is known.
 */
export function isInverted(measures: PulseMeasures, width?: number): boolean {
  const { levels, swing } = measures;
  if (levels !== undefined && Math.abs(levels.high) < NEAR_ZERO * swing) return true;
  const { highs, lows, highEnds, lowEnds } = stretches(measures);
  if (highs.length === 0 || lows.length === 0) return false;
  const low = largest([...lows, ...lowEnds]);
  const rest = largest(highEnds);
  const isAtRest = rest > LONGER * largest(highs) && low < LONGER * smallest(highs);
  if (width === undefined || isAtRest) return isAtRest;
  return low < LONGER * width && Math.max(median(highs), rest) > LONGER * width;
}

interface StateTimes {
  /** s, of whole ones. */
  readonly highs: readonly number[];
  readonly lows: readonly number[];
  /** s, of those in which the recording begins and ends: they lasted so long at least. */
  readonly highEnds: readonly number[];
  readonly lowEnds: readonly number[];
}

function stretches({ rises, falls, seconds }: PulseMeasures): StateTimes {
  const found = { highs: [], lows: [], highEnds: [], lowEnds: [] } as {
    [which in keyof StateTimes]: number[];
  };
  const edges = [
    ...rises.map((time) => ({ time, isRise: true })),
    ...falls.map((time) => ({ time, isRise: false })),
  ].sort((a, b) => a.time - b.time);
  let from = 0;
  for (const [n, { time, isRise }] of edges.entries()) {
    const kind = isRise ? 'low' : 'high';
    (n === 0 ? found[`${kind}Ends`] : found[`${kind}s`]).push(time - from);
    from = time;
  }
  const last = edges.at(-1);
  if (last !== undefined) found[last.isRise ? 'highEnds' : 'lowEnds'].push(seconds - from);
  return found;
}
