/** What the pieces of a page share: the player, and word of what has changed. */

import { useLayoutEffect, useState } from 'preact/hooks';
import type { Player } from './player.ts';
import type { LoopRuler } from './where.ts';

export interface Deck {
  readonly player: Player;
  /** What the player has, as its places are counted. */
  readonly span: () => LoopRuler | undefined;
  /** Calls after every change. @returns what ends that. */
  readonly listen: (listener: () => void) => () => void;
}

/** dB: quiet enough to begin with. */
export const FIRST_VOLUME = -24;
/** dB, where the volume ends downwards: silence. */
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
