/**
 * What of a song goes round and round in the page: the song, some of its bars, one of its entries, or a
 * pattern alone. Every bar and every entry of a song can be had, however long it is.
 */

import type { Patch } from '../../patch/patch.ts';
import { toNumber } from '../../timing/fixed.ts';
import { type Length, playedSeconds } from '../../timing/length.ts';
import { type RhythmSettings, rhythmSettings } from '../../timing/settings.ts';
import { barTimes, songOf, songSeconds } from '../../timing/song.ts';
import type { From } from '../protocol.ts';

/** The most that is kept in memory and played, s. */
export const MOST_LOOP_SECONDS = 60;

export interface Place {
  /** What plays: the patch, or the patch with one pattern for its song. */
  readonly patch: Patch;
  /**
   * Where it begins in the song, s. From the start, what rings on after the end is added to the
   * beginning, as `render --loop` does; anywhere else it is as the song has it there.
   */
  readonly start: number;
  readonly seconds: number;
  /** The same from the start; for a place within the song in seconds. */
  readonly length: Length;
  /** Whether there is more than what is played. */
  readonly shortened: boolean;
}

/**
 * Finds what is to play.
 * @param patch without a count-in.
 * @param bars how many; undefined for all that there is from there on, or of an entry alone its own.
 * @returns the song from its start where the patch has no such place.
 */
export function placeOf(patch: Patch, from: From | undefined, bars: number | undefined): Place {
  if (from?.type === 'pattern') return fromStart(withPattern(patch, from), bars);
  const within = from && startIn(patch, from);
  if (within === undefined || (within.start === 0 && within.end === undefined))
    return fromStart(patch, bars);
  const { start, end, rhythm } = within;
  const timeOf = barTimes(rhythm);
  // Counted from the bar line before it, and as far on.
  const bar = barAt(timeOf, start);
  const after = (count: number): number => start + timeOf(bar + count) - timeOf(bar);
  const wanted = end ?? (bars === undefined ? Math.max(songSeconds(rhythm), start) : after(bars));
  const stop = wanted - start <= MOST_LOOP_SECONDS ? wanted : lastBarWithin(timeOf, start);
  const seconds = stop - start;
  return {
    patch,
    start,
    seconds,
    length: { unit: 'seconds', value: seconds },
    shortened: stop < wanted,
  };
}

/** The bars asked for, or the song; of what is too long, as many of its first bars as fit. */
function fromStart(patch: Patch, bars: number | undefined): Place {
  const length: Length = bars === undefined ? { unit: 'song' } : { unit: 'bars', value: bars };
  const seconds = playedSeconds(patch, length);
  if (seconds <= MOST_LOOP_SECONDS) return { patch, start: 0, length, seconds, shortened: false };
  const secondsOf = (value: number): number => playedSeconds(patch, { unit: 'bars', value });
  let fit = 0;
  // A bar takes two thirds of a second at the least.
  while (secondsOf(fit + 1) <= MOST_LOOP_SECONDS) fit++;
  const shorter: Length =
    fit > 0 ? { unit: 'bars', value: fit } : { unit: 'seconds', value: MOST_LOOP_SECONDS };
  return {
    patch,
    start: 0,
    length: shorter,
    seconds: playedSeconds(patch, shorter),
    shortened: true,
  };
}

/** The patch whose song is one pattern; itself where there is none of that name. */
function withPattern(patch: Patch, from: Extract<From, { type: 'pattern' }>): Patch {
  const module = patch.modules.find(({ name }) => name === from.module);
  if (module?.definition.role !== 'score') return patch;
  const { patterns } = rhythmSettings(module.settings);
  const pattern = patterns.findIndex(({ name }) => name === from.pattern);
  if (pattern < 0) return patch;
  const alone = { ...module, settings: { ...module.settings, song: [{ pattern, repeats: 1 }] } };
  return { ...patch, modules: patch.modules.map((one) => (one === module ? alone : one)) };
}

interface Within {
  readonly rhythm: RhythmSettings;
  /** s. */
  readonly start: number;
  /** s; undefined where it goes on to the end of the song. */
  readonly end?: number;
}

function startIn(patch: Patch, from: Exclude<From, { type: 'pattern' }>): Within | undefined {
  const module = patch.modules.find(
    ({ name, definition }) =>
      definition.role === 'score' && (from.type === 'bar' || name === from.module),
  );
  if (module === undefined) return undefined;
  const rhythm = rhythmSettings(module.settings);
  if (from.type === 'bar') {
    const start = from.bar >= 1 ? barTimes(rhythm)(from.bar) : Number.NaN;
    return start < songSeconds(rhythm) - TINY ? { rhythm, start } : undefined;
  }
  const play = songOf(rhythm, 1).plays[from.entry];
  if (play === undefined) return undefined;
  const start = toNumber(play.start);
  if (from.alone !== true) return { rhythm, start };
  return { rhythm, start, end: start + play.repeats * toNumber(play.groove.duration) };
}

/** s: what sums of times are off by. */
const TINY = 1e-9;

/** The bar in which a time lies, from 1. */
export function barAt(timeOf: (bar: number) => number, seconds: number): number {
  let high = 1;
  while (timeOf(high + 1) <= seconds + TINY) high *= 2;
  let low = Math.max(1, Math.floor(high / 2));
  // Between these two it lies; a bar has some length.
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if (timeOf(middle) <= seconds + TINY) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** The last bar line that can be reached, or if that is none, as far as can be kept. */
function lastBarWithin(timeOf: (bar: number) => number, start: number): number {
  const most = start + MOST_LOOP_SECONDS;
  const line = timeOf(barAt(timeOf, most));
  return line > start + TINY ? line : most;
}
