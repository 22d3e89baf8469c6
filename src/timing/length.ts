/** How long a patch plays, and where its bars start. */

import type { Patch } from '../patch/patch.ts';
import { isFollowing, rhythmSettings, tempoLeaders } from './rhythm.ts';
import { barTimes, secondsOfBars, songSeconds } from './song.ts';

/** How much is played: the song once, or as many bars or seconds, the song repeating as needed. */
export type Length =
  | { readonly unit: 'song' }
  /** 0 or more. */
  | { readonly unit: 'bars'; readonly value: number }
  /** 0 or more. */
  | { readonly unit: 'seconds'; readonly value: number };

/** What a patch without a rhythm sequencer plays when no length is asked for, s. */
const WITHOUT_SONG = 4;

/**
 * Gives the seconds of music, from the length asked for and the patch's rhythm sequencers: those that keep
 * their own time. Where all of them follow pulses, by the tempo that they are set to, since only playing tells
 * how fast the pulses come.
 */
export function playedSeconds(patch: Patch, length: Length): number {
  if (length.unit === 'seconds') return length.value;
  const scores = tempoLeaders(patch);
  if (scores.length === 0) return WITHOUT_SONG;
  // With several sequencers the clip is as long as the longest.
  return scores.reduce((longest, { settings }) => {
    const rhythm = rhythmSettings(settings);
    const own = length.unit === 'bars' ? secondsOfBars(rhythm, length.value) : songSeconds(rhythm);
    return Math.max(longest, own);
  }, 0);
}

/**
 * The bars of the first of a patch's rhythm sequencers that keeps its own time.
 * @returns times of the bars that start before `seconds`, s; empty without such a sequencer.
 */
export function barsWithin(patch: Patch, seconds: number): number[] {
  const [score] = tempoLeaders(patch);
  if (score === undefined || isFollowing(patch, score)) return [];
  const timeOf = barTimes(rhythmSettings(score.settings));
  const times: number[] = [];
  for (let bar = 1, time = timeOf(bar); time < seconds; time = timeOf(++bar)) times.push(time);
  return times;
}

/** A place in a clip where a bar starts. */
export interface BarCue {
  readonly sample: number;
  readonly label: string;
}

/**
 * The bars of a patch as a clip names them.
 * @param sampleRate Hz.
 * @param frames of the music.
 */
export function barCues(patch: Patch, sampleRate: number, frames: number): readonly BarCue[] {
  return barsWithin(patch, frames / sampleRate)
    .map((time, index) => ({ sample: Math.round(time * sampleRate), label: `Bar ${index + 1}` }))
    .filter(({ sample }) => sample < frames);
}
