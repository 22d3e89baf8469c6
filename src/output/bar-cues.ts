/** The bars of a clip by name: those of its tempo, or of the pulses where all that it plays follows them. */

import { type Prepared, prepared } from '../engine/prepared.ts';
import type { Patch } from '../patch/patch.ts';
import { type BarCue, barCues } from '../timing/length.ts';
import { isFollowing, tempoLeaders } from '../timing/rhythm.ts';
import { HeardBars } from './score/heard-bars.ts';

/**
 * Finds them.
 * @param sampleRate Hz.
 * @param frames of the music.
 */
export function cuesOf(
  of: Patch | Prepared,
  sampleRate: number,
  frames: number,
): readonly BarCue[] {
  const all = prepared(of);
  const [leader] = tempoLeaders(all.patch);
  if (leader === undefined || !isFollowing(all.patch, leader))
    return barCues(all.patch, sampleRate, frames);
  const seconds = frames / sampleRate;
  return new HeardBars(all, seconds)
    .barsBefore(leader.name, seconds)
    .map(({ bar, time }) => ({ sample: Math.round(time * sampleRate), label: `Bar ${bar}` }))
    .filter(({ sample }) => sample < frames);
}
