/**
 * For parts that move with the sound: calls once a frame of the screen while it plays, and once when the place
 * changes.
 */

import { useEffect, useRef } from 'preact/hooks';
import { type Deck, usePlaying } from './deck.ts';
import { beatBefore } from './where.ts';

const STILL = '(prefers-reduced-motion: reduce)';

/**
 * Calls for every frame with where the loop is, 0 to 1. For a person who asked for less motion it goes
 * from beat to beat; a beat is taken as a quarter of a bar.
 */
export function usePlace(deck: Deck, draw: (share: number) => void): void {
  const isPlaying = usePlaying(deck);
  const latest = useRef(draw);
  latest.current = draw;
  useEffect(() => {
    const still = matchMedia(STILL);
    let frame = 0;
    let last = -1;
    const show = (): void => {
      const share = deck.player.share();
      const at = still.matches && isPlaying ? beatBefore(share, deck.span()) : share;
      if (at !== last) latest.current(at);
      last = at;
    };
    const again = (): void => {
      show();
      frame = requestAnimationFrame(again);
    };
    if (isPlaying) again();
    else show();
    const forget = deck.listen(() => {
      last = -1;
      if (!isPlaying) show();
    });
    return () => {
      cancelAnimationFrame(frame);
      forget();
    };
  }, [deck, isPlaying]);
}
