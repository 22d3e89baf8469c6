/**
 * The part of a song that loops in the page: the song, some of its bars, one of its entries, or a
 * pattern alone. Every bar and every entry of a song can be chosen, however long the song is.
 */

import { Prepared, prepared } from '../../engine/prepared.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { heardBars } from '../../output/score/heard-bars.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { toNumber } from '../../timing/fixed.ts';
import { barsWithin, type Length, playedSeconds } from '../../timing/length.ts';
import { isFollowing, rhythmSettings, tempoLeaders } from '../../timing/rhythm.ts';
import { barTimes, type SongPlay, secondsOfBars, songOf, songSeconds } from '../../timing/song.ts';
import type { From } from '../protocol.ts';

/** The most that is kept in memory and played, s. */
export const MOST_LOOP_SECONDS = 60;

export interface LoopPlace {
  /** What plays: the patch, or the patch with one pattern for its song. */
  readonly of: Prepared;
  /**
   * Where it begins in the song, s. From the start of the song, the tail after the end is added to the
   * beginning, as `render --loop` does; a place within the song sounds as it does there.
   */
  readonly start: number;
  readonly seconds: number;
  /** The length as it is asked for from the start; in seconds for a place within the song. */
  readonly length: Length;
  /** Whether it was cut short. */
  readonly shortened: boolean;
}

/**
 * Finds the part to play.
 * @param of a patch without a count-in.
 * @param bars how many; undefined for all up to the end of the song, or of the entry if it is alone.
 * @returns the song from its start where the patch has no such place.
 */
export function placeOf(
  of: Patch | Prepared,
  from: From | undefined,
  bars: number | undefined,
): LoopPlace {
  const all = prepared(of);
  if (from?.type === 'pattern') return fromStart(withPattern(all, from), bars);
  const within = from && startIn(all, from);
  if (within === undefined || (within.start === 0 && within.end === undefined))
    return fromStart(all, bars);
  const { start, end, ruled } = within;
  const { timeOf, lengthOf } = ruled;
  // Bars are counted from the bar line before the start, which is shifted by as much.
  const bar = barAt(timeOf, start);
  const after = (count: number): number => start + timeOf(bar + count) - timeOf(bar);
  const wanted = end ?? (bars === undefined ? Math.max(lengthOf(undefined), start) : after(bars));
  const stop = wanted - start <= MOST_LOOP_SECONDS ? wanted : lastBarWithin(timeOf, start);
  const seconds = stop - start;
  return {
    of: all,
    start,
    seconds,
    length: { unit: 'seconds', value: seconds },
    shortened: stop < wanted,
  };
}

/** Where the bars and the entries of a song lie. */
interface Ruled {
  /** s at which a bar begins, from 1. */
  readonly timeOf: (bar: number) => number;
  /** s that a number of bars from the start take; undefined stands for the song. */
  readonly lengthOf: (bars: number | undefined) => number;
  /** s at which a play of the song begins, and ends. */
  readonly spanOf: (play: SongPlay) => readonly [start: number, end: number];
}

/** The times of a rhythm's bars: by its tempo, or by the pulses that reach it. */
function ruledBy(of: Prepared, module: PatchModule): Ruled {
  const rhythm = rhythmSettings(module.settings);
  if (isFollowing(of.patch, module)) return ruledByPulses(of, module, songOf(rhythm, 1).steps);
  return {
    timeOf: barTimes(rhythm),
    lengthOf: (bars) => (bars === undefined ? songSeconds(rhythm) : secondsOfBars(rhythm, bars)),
    spanOf({ start, repeats, groove }) {
      const from = toNumber(start);
      return [from, from + repeats * toNumber(groove.duration)];
    },
  };
}

/** @param steps the steps of the song, played once. */
function ruledByPulses(of: Prepared, module: PatchModule, steps: number): Ruled {
  const { name } = module;
  const heard = heardBars(of);
  const stepAt = (step: number): number => (step === 0 ? 0 : heard.step(name, step));
  return {
    timeOf: heardBar(of, module),
    // In the next round the first pulse is as late as at the start.
    lengthOf: (bars) =>
      bars === undefined
        ? heard.step(name, steps) - heard.step(name, 0)
        : heard.bar(name, bars + 1) - heard.bar(name, 1),
    spanOf: ({ firstStep, repeats, groove }) => [
      stepAt(firstStep),
      stepAt(firstStep + repeats * groove.pattern.length),
    ],
  };
}

/** The song begins with the patch, though its first pulse is noticed a little later. */
function heardBar(of: Prepared, { name }: PatchModule): (bar: number) => number {
  const heard = heardBars(of);
  return (bar) => (bar === 1 ? 0 : heard.bar(name, bar));
}

/**
 * The bars of a place.
 * @returns s at which the bars within it begin, and the number of the first.
 */
export function barsOf({ of, start, seconds }: LoopPlace): {
  readonly times: readonly number[];
  readonly first: number;
} {
  const end = start + seconds - 0.5 / USUAL_RATE;
  const { patch } = of;
  const [leader] = tempoLeaders(patch);
  const all: number[] = [];
  if (leader !== undefined && isFollowing(patch, leader)) {
    const timeOf = heardBar(of, leader);
    for (let bar = 1, time = 0; time < end; time = timeOf(++bar)) all.push(time);
  } else for (const time of barsWithin(patch, end)) all.push(time);
  // A bar line within half a frame of an end counts as being at it.
  const first = all.findIndex((time) => time >= start - 0.5 / USUAL_RATE);
  return first < 0
    ? { times: [], first: all.length + 1 }
    : { times: all.slice(first), first: first + 1 };
}

/** The bars asked for, or the song; if that is too long, as many of its first bars as fit. */
function fromStart(of: Prepared, bars: number | undefined): LoopPlace {
  const { patch } = of;
  const [leader] = tempoLeaders(patch);
  // The song is as long as `render --loop` makes it, by the tempo that is set.
  if (bars !== undefined && leader !== undefined && isFollowing(patch, leader)) {
    const { timeOf, lengthOf } = ruledBy(of, leader);
    const wanted = lengthOf(bars);
    // If no pulses come, the tempo that it is set to counts instead.
    if (wanted < Number.POSITIVE_INFINITY) {
      const seconds = wanted <= MOST_LOOP_SECONDS ? wanted : lastBarWithin(timeOf, 0);
      const length: Length = { unit: 'seconds', value: seconds };
      return { of, start: 0, length, seconds, shortened: seconds < wanted };
    }
  }
  const length: Length = bars === undefined ? { unit: 'song' } : { unit: 'bars', value: bars };
  const seconds = playedSeconds(patch, length);
  if (seconds <= MOST_LOOP_SECONDS) return { of, start: 0, length, seconds, shortened: false };
  const secondsOf = (value: number): number => playedSeconds(patch, { unit: 'bars', value });
  let fit = 0;
  // The loop ends, since a bar takes at least two thirds of a second.
  while (secondsOf(fit + 1) <= MOST_LOOP_SECONDS) fit++;
  const shorter: Length =
    fit > 0 ? { unit: 'bars', value: fit } : { unit: 'seconds', value: MOST_LOOP_SECONDS };
  return {
    of,
    start: 0,
    length: shorter,
    seconds: playedSeconds(patch, shorter),
    shortened: true,
  };
}

/** The patch with one pattern for its song; unchanged if no pattern has that name. */
function withPattern(of: Prepared, from: Extract<From, { type: 'pattern' }>): Prepared {
  const { patch } = of;
  const module = patch.modules.find(({ name }) => name === from.module);
  if (module?.definition.role !== 'score') return of;
  const { patterns } = rhythmSettings(module.settings);
  const pattern = patterns.findIndex(({ name }) => name === from.pattern);
  if (pattern < 0) return of;
  const alone = { ...module, settings: { ...module.settings, song: [{ pattern, repeats: 1 }] } };
  const modules = patch.modules.map((one) => (one === module ? alone : one));
  return new Prepared({ ...patch, modules });
}

interface Within {
  readonly ruled: Ruled;
  /** s. */
  readonly start: number;
  /** s; undefined where it goes on to the end of the song. */
  readonly end?: number;
}

function startIn(of: Prepared, from: Exclude<From, { type: 'pattern' }>): Within | undefined {
  const { patch } = of;
  const module =
    from.type === 'bar'
      ? tempoLeaders(patch)[0]
      : patch.modules.find(
          ({ name, definition }) => definition.role === 'score' && name === from.module,
        );
  if (module === undefined) return undefined;
  const ruled = ruledBy(of, module);
  if (from.type === 'bar') {
    const start = from.bar >= 1 ? ruled.timeOf(from.bar) : Number.NaN;
    return start < ruled.lengthOf(undefined) - TINY ? { ruled, start } : undefined;
  }
  const play = songOf(rhythmSettings(module.settings), 1).plays[from.entry];
  if (play === undefined) return undefined;
  const [start, end] = ruled.spanOf(play);
  if (!(end < Number.POSITIVE_INFINITY)) return undefined;
  return from.alone === true ? { ruled, start, end } : { ruled, start };
}

/** s: the rounding error of sums of times. */
const TINY = 1e-9;

/** The bar in which a time lies, from 1. */
export function barAt(timeOf: (bar: number) => number, seconds: number): number {
  let high = 1;
  while (timeOf(high + 1) <= seconds + TINY) high *= 2;
  let low = Math.max(1, Math.floor(high / 2));
  // The bar is between these two; a bar has some length.
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if (timeOf(middle) <= seconds + TINY) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** The last bar line within the longest loop; if there is none, the end of the longest loop. */
function lastBarWithin(timeOf: (bar: number) => number, start: number): number {
  const most = start + MOST_LOOP_SECONDS;
  const line = timeOf(barAt(timeOf, most));
  return line > start + TINY ? line : most;
}
