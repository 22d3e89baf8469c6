/** How much of a song goes round and round in the page. */

import type { Patch } from '../../patch/patch.ts';
import { type Length, playedSeconds } from '../../timing/length.ts';

/** The most that is kept in memory and played, s. */
export const MOST_LOOP_SECONDS = 60;

export interface LoopLength {
  readonly length: Length;
  readonly seconds: number;
  /** Whether there is more than what is played. */
  readonly shortened: boolean;
}

/**
 * The bars asked for, or the song; of what is too long, as many of its first bars as fit.
 * @param bars undefined for the song.
 */
export function loopLength(patch: Patch, bars: number | undefined): LoopLength {
  const length: Length = bars === undefined ? { unit: 'song' } : { unit: 'bars', value: bars };
  const seconds = playedSeconds(patch, length);
  if (seconds <= MOST_LOOP_SECONDS) return { length, seconds, shortened: false };
  const secondsOf = (value: number): number => playedSeconds(patch, { unit: 'bars', value });
  let fit = 0;
  // A bar takes two thirds of a second at the least.
  while (secondsOf(fit + 1) <= MOST_LOOP_SECONDS) fit++;
  const shorter: Length =
    fit > 0 ? { unit: 'bars', value: fit } : { unit: 'seconds', value: MOST_LOOP_SECONDS };
  return { length: shorter, seconds: playedSeconds(patch, shorter), shortened: true };
}
