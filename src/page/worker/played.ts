/** Which pattern plays when: the song's entries and patterns, for the place that moves with the sound. */

import type { Prepared } from '../../engine/prepared.ts';
import { heardBars } from '../../output/score/heard-bars.ts';
import type { PatchModule } from '../../patch/patch.ts';
import { toNumber } from '../../timing/fixed.ts';
import { isFollowing, rhythmSettings } from '../../timing/rhythm.ts';
import { songOf } from '../../timing/song.ts';
import type { PlayedView } from '../protocol.ts';

/** The most playings, more than an eye can follow in a minute; further ones are left out. */
const MOST = 4096;

/**
 * The playings of patterns that sound between two times.
 * @param of a patch without a count-in.
 * @param from s from the start of the song. @param to s.
 * @returns times in s from there, in order for each rhythm.
 */
export function playedViews(of: Prepared, from: number, to: number): readonly PlayedView[] {
  const { patch } = of;
  const found: PlayedView[] = [];
  for (const rhythm of patch.modules) {
    const { name: module, definition, settings } = rhythm;
    if (definition.role !== 'score') continue;
    if (isFollowing(patch, rhythm)) {
      for (const view of playedByPulses(of, rhythm, from, to)) {
        if (found.length >= MOST) return found;
        found.push(view);
      }
      continue;
    }
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

/** The same for a rhythm that follows pulses, which give the times of its steps. */
function* playedByPulses(
  of: Prepared,
  { name: module, settings }: PatchModule,
  from: number,
  to: number,
): Generator<PlayedView> {
  const heard = heardBars(of);
  const { plays } = songOf(rhythmSettings(settings), 1);
  if (plays.length === 0) return;
  for (let step = 0; ; )
    for (const [entry, { groove, repeats }] of plays.entries()) {
      const { length, name: pattern } = groove.pattern;
      for (let repeat = 0; repeat < repeats; repeat++, step += length) {
        const [start, end] = [heard.step(module, step), heard.step(module, step + length)];
        // After the last pulse nothing is known of its steps.
        if (start >= to || end === Number.POSITIVE_INFINITY) return;
        if (end <= from) continue;
        yield {
          module,
          pattern,
          entry,
          repeat,
          repeats,
          start: start - from,
          end: end - from,
          step: (end - start) / length,
          swing: groove.swing,
        };
      }
    }
}
