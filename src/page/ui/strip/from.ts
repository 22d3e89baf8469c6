/** Where playing begins: when two such places are the same, and where a song continues that is longer than the loop. */

import type { From, LoopView } from '../../protocol.ts';

export function isSameFrom(one: From | undefined, other: From | undefined): boolean {
  return JSON.stringify(one) === JSON.stringify(other);
}

/** The bar with which the song goes on after a stretch. */
export function nextBar({ firstBar, bars }: LoopView): number {
  return firstBar + bars.length;
}
