/** What the pieces of a page share: the player, and notice of its changes. */

import { useLayoutEffect, useState } from 'preact/hooks';
import type { Player } from './player.ts';
import type { LoopRuler } from './where.ts';

export interface Deck {
  readonly player: Player;
  /** The loop that the player has, as a ruler for places in it. */
  readonly span: () => LoopRuler | undefined;
  /** Calls after every change. @returns a function that ends that. */
  readonly listen: (listener: () => void) => () => void;
}

/** dB: the first volume, quiet for safety. */
export const FIRST_VOLUME = -24;
/** dB: the lowest volume, which is silence. */
export const LEAST_VOLUME = -60;

/** The factor of a volume in dB. */
export function factorOf(volume: number): number {
  return volume <= LEAST_VOLUME ? 0 : 10 ** (volume / 20);
}

/** Whether it plays; the component is drawn again when that changes. */
export function usePlaying({ player, listen }: Deck): boolean {
  const [isPlaying, setPlaying] = useState(player.isPlaying);
  useLayoutEffect(() => {
    const look = (): void => setPlaying(player.isPlaying);
    look();
    return listen(look);
  }, [player, listen]);
  return isPlaying;
}
