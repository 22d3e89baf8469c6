/**
 * The song as sections: one section is one playing of a pattern. Where each starts is computed from
 * the start of the performance (song passes x song + entries before + repeats x pattern), never
 * added up.
 *
 * A count-in is a section of its own before the first: the tempo, the swing and the clock of the song's
 * first entry, and no line of any channel. Bars count from the music: the last bar of a count-in is
 * bar 0, the one before it bar -1.
 *
 * How settings meet: an entry of the song is narrower than the pattern it plays, the pattern narrower
 * than the module; the narrowest that says anything wins.
 */

import type { Rate } from '../modules/definition.ts';
import type { Pattern, SongEntry } from '../modules/score.ts';
import { decimal, type Fixed, fixed, product, type Ratio, scaled, toNumber } from './fixed.ts';
import type { RhythmSettings } from './rhythm.ts';

/** A pattern with the settings it is played with; entries of the song that agree share one. */
export interface Groove {
  readonly pattern: Pattern;
  readonly swing: number;
  readonly chance: number;
  /** s. */
  readonly flam: number;
  readonly clock: Rate;
  /** Length of a quarter, of a straight step and of the pattern. */
  readonly quarter: Fixed;
  readonly step: Fixed;
  readonly duration: Fixed;
}

/** An entry of the song, and where it starts in the song. */
export interface SongPlay {
  readonly groove: Groove;
  readonly repeats: number;
  readonly start: Fixed;
  readonly firstStep: number;
  /** In parts of a quarter (see {@link Song.partsPerQuarter}), as is the length of one repeat. */
  readonly firstPart: bigint;
  readonly parts: bigint;
}

export interface Song {
  /** Entries that have any length. */
  readonly plays: readonly SongPlay[];
  /** Once through, the count-in too. */
  readonly duration: Fixed;
  /** What comes before the music; undefined where that starts at once. */
  readonly countIn: CountIn | undefined;
  /** Once through the entries. */
  readonly pass: Fixed;
  readonly steps: number;
  readonly parts: bigint;
  /** Smallest whole number that every pattern's steps per quarter divide. */
  readonly partsPerQuarter: bigint;
  readonly partsPerBar: bigint;
}

interface CountIn {
  /** Its pattern has no lines. */
  readonly groove: Groove;
  readonly bars: number;
}

/** One playing of a pattern, or the count-in. */
export interface Section {
  readonly groove: Groove;
  /** From the start of the performance. */
  readonly start: Fixed;
  /** Steps of the performance before this section. */
  readonly firstStep: number;
  /**
   * Steps since this pattern began, through repeats and entries in a row that play it, and through
   * the song's end: where a line with a length of its own, and the clock, stand at the first step.
   */
  readonly sinceChange: number;
  /** The bar that the section starts in, from 1 (a count-in's are under that), and the whole steps of the bar before it. */
  readonly bar: number;
  readonly stepsIntoBar: number;
}

/**
 * Works out a song's lengths.
 * @param rate of the unit of time: the sample rate in Hz for samples, 1 for seconds.
 * @throws RangeError for a tempo or rate that is not a positive finite number.
 */
export function songOf(settings: RhythmSettings, rate: number): Song {
  const entries = settings.song.flatMap((entry) => {
    const pattern = settings.patterns[entry.pattern];
    return pattern !== undefined && pattern.length > 0 && entry.repeats > 0
      ? [{ entry, pattern }]
      : [];
  });
  const partsPerQuarter = entries.reduce((n, e) => lcm(n, BigInt(e.pattern.stepsPerQuarter)), 1n);
  const grooves = new Map<string, Groove>();
  const plays: SongPlay[] = [];
  let start = 0n;
  let firstStep = 0;
  let firstPart = 0n;
  for (const { entry, pattern } of entries) {
    const groove = grooveOf(entry, pattern, settings, rate, grooves);
    const parts = (BigInt(pattern.length) * partsPerQuarter) / BigInt(pattern.stepsPerQuarter);
    plays.push({ groove, repeats: entry.repeats, start, firstStep, firstPart, parts });
    start += groove.duration * BigInt(entry.repeats);
    firstStep += pattern.length * entry.repeats;
    firstPart += parts * BigInt(entry.repeats);
  }
  const partsPerBar = partsPerQuarter * BigInt(settings['beats-per-bar']);
  const countIn = plays[0] && countInOf(plays[0].groove, settings);
  return {
    plays,
    duration: start + (countIn?.groove.duration ?? 0n),
    countIn,
    pass: start,
    steps: firstStep,
    parts: firstPart,
    partsPerQuarter,
    partsPerBar,
  };
}

/** Gives the sections of a song that repeats for ever, in order; none if the song has no steps. */
export function* sectionsOf(song: Song): Generator<Section, void> {
  if (song.plays.length === 0) return;
  const { countIn } = song;
  const origin = countIn?.groove.duration ?? 0n;
  if (countIn !== undefined) {
    const { groove, bars } = countIn;
    yield { groove, start: 0n, firstStep: 0, sinceChange: 0, bar: 1 - bars, stepsIntoBar: 0 };
  }
  let playing: Pattern | undefined;
  let sinceChange = 0;
  for (let pass = 0; ; pass++) {
    for (const play of song.plays) {
      const { length, stepsPerQuarter } = play.groove.pattern;
      if (play.groove.pattern !== playing) sinceChange = 0;
      playing = play.groove.pattern;
      for (let repeat = 0; repeat < play.repeats; repeat++) {
        const part = BigInt(pass) * song.parts + play.firstPart + BigInt(repeat) * play.parts;
        yield {
          groove: play.groove,
          start:
            origin + BigInt(pass) * song.pass + play.start + BigInt(repeat) * play.groove.duration,
          firstStep: pass * song.steps + play.firstStep + repeat * length,
          sinceChange,
          bar: 1 + Number(part / song.partsPerBar),
          stepsIntoBar: Number(
            ((part % song.partsPerBar) * BigInt(stepsPerQuarter)) / song.partsPerQuarter,
          ),
        };
        sinceChange += length;
      }
    }
  }
}

/** Gives the bar in which a step of a section starts (see {@link Section}); swing does not count. */
export function barOfStep(section: Section, step: number, beatsPerBar: number): number {
  const stepsPerBar = beatsPerBar * section.groove.pattern.stepsPerQuarter;
  return section.bar + Math.floor((section.stepsIntoBar + step) / stepsPerBar);
}

/** Gives the length of the song once through, the count-in too, s; 0 for a song without a step. */
export function songSeconds(settings: RhythmSettings): number {
  return toNumber(songOf(settings, 1).duration);
}

/**
 * Gives a function from a bar's number to the time at which it starts, s. A bar is `beats-per-bar`
 * quarter notes, counted from the end of the count-in through all changes of tempo and pattern;
 * the first bar is bar 1. A song without a step is counted at the module's tempo. The function
 * throws RangeError for a bar that is not a whole number from 1.
 */
export function barTimes(settings: RhythmSettings): (bar: number) => number {
  const song = songOf(settings, 1);
  const bare = fixed(quarterOf(settings.tempo, 1)) * BigInt(settings['beats-per-bar']);
  return (bar) => {
    if (!(bar >= 1)) throw new RangeError(`expected a bar from 1, got ${bar}`);
    const bars = BigInt(bar - 1);
    if (song.parts === 0n) return toNumber(bars * bare);
    const part = bars * song.partsPerBar;
    const inSong = part % song.parts;
    const play = lastStartingBy(song.plays, inSong);
    const inPlay = { num: inSong - play.firstPart, den: song.partsPerQuarter };
    const pass = (song.countIn?.groove.duration ?? 0n) + (part / song.parts) * song.pass;
    return toNumber(pass + play.start + scaled(play.groove.quarter, inPlay));
  };
}

/** Gives how long the count-in and the first `count` bars of the music last, s. */
export function secondsOfBars(settings: RhythmSettings, count: number): number {
  return barTimes(settings)(count + 1);
}

function grooveOf(
  entry: SongEntry,
  pattern: Pattern,
  settings: RhythmSettings,
  rate: number,
  made: Map<string, Groove>,
): Groove {
  const tempo = entry.tempo ?? pattern.tempo ?? settings.tempo;
  const swing = entry.swing ?? pattern.swing ?? settings.swing;
  const chance = entry.chance ?? pattern.chance ?? settings.chance;
  const flam = entry.flam ?? pattern.flam ?? settings.flam;
  const clock = entry.clock ?? pattern.clock ?? settings.clock;
  const key = [entry.pattern, tempo, swing, chance, flam, clock.count, clock.per].join(' ');
  const known = made.get(key);
  if (known !== undefined) return known;
  const quarter = quarterOf(tempo, rate);
  const quarters = (steps: number) => ({
    num: BigInt(steps),
    den: BigInt(pattern.stepsPerQuarter),
  });
  const groove: Groove = {
    pattern,
    swing,
    chance,
    flam,
    clock,
    quarter: fixed(quarter),
    step: fixed(product(quarter, quarters(1))),
    duration: fixed(product(quarter, quarters(pattern.length))),
  };
  made.set(key, groove);
  return groove;
}

function countInOf(first: Groove, settings: RhythmSettings): CountIn | undefined {
  const bars = settings['count-in'];
  if (bars === 0) return undefined;
  const quarters = bars * settings['beats-per-bar'];
  const { stepsPerQuarter } = first.pattern;
  const pattern: Pattern = {
    name: 'count-in',
    stepsPerQuarter,
    length: quarters * stepsPerQuarter,
    lines: [],
  };
  return { bars, groove: { ...first, pattern, duration: first.quarter * BigInt(quarters) } };
}

function lastStartingBy(plays: readonly SongPlay[], part: bigint): SongPlay {
  let low = 0;
  let high = plays.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if ((plays[middle] as SongPlay).firstPart <= part) low = middle;
    else high = middle - 1;
  }
  return plays[low] as SongPlay;
}

/** Length of a quarter note in units of 1/rate s. */
function quarterOf(tempo: number, rate: number): Ratio {
  if (!(tempo > 0 && rate > 0)) {
    throw new RangeError(`expected a positive tempo and rate, got ${tempo} bpm and ${rate} Hz`);
  }
  const { num, den } = decimal(tempo);
  return product({ num: 60n * den, den: num }, decimal(rate));
}

function lcm(a: bigint, b: bigint): bigint {
  let x = a;
  let y = b;
  while (y > 0n) [x, y] = [y, x % y];
  return (a / x) * b;
}
