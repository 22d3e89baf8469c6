/** Which pattern plays when: the song in its own words, for the place that moves with the sound. */

import type { Patch } from '../../patch/patch.ts';
import { toNumber } from '../../timing/fixed.ts';
import { rhythmSettings } from '../../timing/settings.ts';
import { songOf } from '../../timing/song.ts';
import type { PlayedView } from '../protocol.ts';

/** More than can be followed by eye in a minute; what a loop has beyond is left out. */
const MOST = 4096;

/**
 * The playings of patterns that sound between two times.
 * @param patch without a count-in.
 * @param from s from the start of the song. @param to s.
 * @returns times in s from there, in order for each rhythm.
 */
export function playedViews(patch: Patch, from: number, to: number): readonly PlayedView[] {
  const found: PlayedView[] = [];
  for (const { name: module, definition, settings } of patch.modules) {
    if (definition.role !== 'score') continue;
    const song = songOf(rhythmSettings(settings), 1);
    const pass = toNumber(song.pass);
    if (!(pass > 0)) continue;
    for (let round = Math.floor(from / pass); round * pass < to; round++) {
      for (const [entry, { groove, repeats, start }] of song.plays.entries()) {
        const first = round * pass + toNumber(start);
        const duration = toNumber(groove.duration);
        if (first >= to) break;
        if (first + repeats * duration <= from) continue;
        for (
          let repeat = Math.max(0, Math.floor((from - first) / duration));
          repeat < repeats && first + repeat * duration < to;
          repeat++
        ) {
          if (found.length >= MOST) return found;
          found.push({
            module,
            pattern: groove.pattern.name,
            entry,
            repeat,
            repeats,
            start: first + repeat * duration - from,
            end: first + (repeat + 1) * duration - from,
            step: toNumber(groove.step),
            swing: groove.swing,
          });
        }
      }
    }
  }
  return found;
}
