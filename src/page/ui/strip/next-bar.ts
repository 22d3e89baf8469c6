/** How a song goes on that is longer than what is kept. */

import type { LoopView } from '../../protocol.ts';

/** The bar with which the song goes on after a stretch. */
export function nextBar({ firstBar, bars }: LoopView): number {
  return firstBar + bars.length;
}
