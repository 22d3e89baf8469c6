/** Places in a song: where playing begins, where it goes on after the loop, and where the sound is, in words. */

import { whereWords } from '../../pieces/where.ts';
import type { From, LoopView, RhythmView } from '../../protocol.ts';
import { playedAt } from '../pattern/played-at.ts';

/**
 * As `bar 37, 88.70 s, answer (entry 9, 2 of 4)`; bars and seconds are those of the song.
 * @param share of what plays, 0 to 1.
 * @param rhythm the owner of the song; undefined where a pattern plays alone.
 */
export function placeWords(share: number, loop: LoopView, rhythm: RhythmView | undefined): string {
  if (rhythm === undefined || loop.played.length === 0) return whereWords(share, loop);
  const inside = (share * loop.frames) / loop.sampleRate;
  const bar = loop.firstBar - 1 + loop.bars.filter((time) => time <= inside + 1e-9).length;
  const one = playedAt(loop.played, inside, rhythm.module);
  const times = one !== undefined && one.repeats > 1 ? `, ${one.repeat + 1} of ${one.repeats}` : '';
  const song =
    one === undefined || rhythm.entries.length === 1
      ? ''
      : `, ${one.pattern} (entry ${one.entry + 1}${times})`;
  return `bar ${Math.max(1, bar)}, ${(loop.start + inside).toFixed(2)} s${song}`;
}

/** Whether playing begins at the same place. */
export function isSameFrom(one: From | undefined, other: From | undefined): boolean {
  return JSON.stringify(one) === JSON.stringify(other);
}

/** The bar with which the song goes on after a stretch. */
export function nextBar({ firstBar, bars }: LoopView): number {
  return firstBar + bars.length;
}
