/**
 * How late the strokes of a MIDI file are as a whole: by one time, each line by its own, or more and more. A grid has no
 * place for that, and would have to be needlessly fine.
 *
 * Only strokes near a beat tell it, so that neither triplets nor swing count as late.
 */

import type { Music, TabSection, TabStroke } from './music.ts';

/** The same music as if it had been on time. */
export interface OnTime {
  readonly music: Music;
  /** Bits for what was taken away. */
  readonly bits: number;
  readonly words: string;
}

/** Strokes at most this far from a beat tell how late they are, quarter notes: less than any step from it. */
const NEAR = 0.12;
/** Beats, and eighths for a line that has none on beats, quarter notes. */
const BEATS = [1, 0.5];
/** The least share of strokes near a beat that tells of them all, and the fewest that tell of a tempo. */
const LEAST_SHARE = 1 / 12;
const FEWEST_DRIFT = 12;
/** s: how exactly a hand plays (by experience, no source); lateness that is not told, unless a tick is longer. */
const SCATTER = 0.008;
const LEAST = 0.002;
const TICKS = 1.1;
/** Bits of one time, and of a tempo beside it. */
const TIME_BITS = 5;
const DRIFT_BITS = 10;
/** How fast lateness is followed, and how much of it a tempo adds up to at least, quarter notes. */
const FOLLOW = 0.2;
const LEAST_DRIFT = 1 / 32;
const MOST_DRIFT = 0.03;
const MOST_NAMED = 4;

/** The ways in which music of a file may be late, the simplest first. */
export function onTimeOf(music: Music): readonly OnTime[] {
  const { strokes, sections, lines, tick } = music;
  const [first] = sections;
  if (tick === undefined || first === undefined) return [];
  const quarter = 60 / first.bpm;
  const width = Math.max(TICKS * tick, SCATTER / quarter);
  const least = Math.max(TICKS * tick, LEAST / quarter);
  const ms = (quarters: number): string => {
    const time = Number(Math.abs(1000 * quarter * quarters).toPrecision(2));
    return `${time} ms ${quarters < 0 ? 'early' : 'late'}`;
  };
  const found: OnTime[] = [];
  const common = latenessOf(strokes, width) ?? 0;
  if (Math.abs(common) > least)
    found.push({
      music: { ...music, strokes: strokes.map((one) => ({ ...one, at: one.at - common })) },
      bits: TIME_BITS,
      words: `All strokes are ${ms(common)}, which the tab leaves out.`,
    });
  const own = lines.map((_, index) => {
    const ofLine = strokes.filter(({ line }) => line === index);
    const late = latenessOf(ofLine, width) ?? common;
    return Math.abs(late) > least ? late : 0;
  });
  const times = new Set(own.filter((late) => late !== 0));
  if (own.some((late) => Math.abs(late - common) > least))
    found.push({
      music: {
        ...music,
        strokes: byTime(strokes.map((one) => ({ ...one, at: one.at - (own[one.line] ?? 0) }))),
      },
      bits: TIME_BITS * times.size,
      words: `All along, ${namedLines(own, lines, ms)}, which the tab leaves out.`,
    });
  const drifting = withoutDrift(music, width);
  return drifting === undefined ? found : [...found, drifting];
}

function namedLines(
  own: readonly number[],
  lines: Music['lines'],
  ms: (quarters: number) => string,
): string {
  const told = own.flatMap((late, line) =>
    late === 0 ? [] : [`${lines[line]?.name} is ${ms(late)}`],
  );
  const more = told.length - MOST_NAMED;
  return [...told.slice(0, MOST_NAMED), ...(more > 0 ? [`and others (${more})`] : [])].join(', ');
}

/** Quarter notes by which most strokes near a beat are late; undefined if too few are near one. */
function latenessOf(strokes: readonly TabStroke[], width: number): number | undefined {
  for (const beat of BEATS) {
    const late = strokes
      .map(({ at }) => at - beat * Math.round(at / beat))
      .filter((one) => Math.abs(one) < NEAR)
      .sort((a, b) => a - b);
    if (late.length > 0 && late.length >= LEAST_SHARE * strokes.length)
      return commonest(late, width);
  }
  return undefined;
}

/** The middle of the values that have the most others near them. @param sorted not empty. */
function commonest(sorted: readonly number[], width: number): number | undefined {
  let best: readonly [number, number] = [0, 0];
  let end = 0;
  for (const [start, first] of sorted.entries()) {
    while (end < sorted.length && (sorted[end] as number) - first <= width) end++;
    if (end - start > best[1] - best[0]) best = [start, end];
  }
  return sorted[(best[0] + best[1] - 1) >> 1];
}

/** Music of one tempo whose strokes come later and later, or earlier and earlier, at the tempo that they have. */
function withoutDrift(music: Music, width: number): OnTime | undefined {
  const { strokes, sections } = music;
  const bpm = (sections[0] as TabSection).bpm;
  if (sections.some((section) => section.bpm !== bpm)) return undefined;
  const late = followed(strokes);
  if (late.length < FEWEST_DRIFT) return undefined;
  const drift = slopeOf(late);
  const span = (late.at(-1) as LateStroke).at - (late[0] as LateStroke).at;
  if (Math.abs(drift) * span < LEAST_DRIFT || Math.abs(drift) > MOST_DRIFT) return undefined;
  const steady = strokes.map((one) => ({ ...one, at: one.at * (1 - drift) }));
  const common = latenessOf(steady, width) ?? 0;
  const played = steady.map((one) => ({ ...one, at: one.at - common }));
  const own = Number((bpm * (1 - drift)).toFixed(2));
  const before = (strokes.at(-1) as TabStroke).at;
  const last = (played.at(-1) as TabStroke).at;
  return {
    music: { ...music, strokes: played, sections: upTo(sections, before, last, own) },
    bits: TIME_BITS + DRIFT_BITS,
    words: `Strokes ${drift > 0 ? 'fall behind' : 'run ahead of'} its ${bpm} bpm more and more: they are written at ${own} bpm, as they are played.`,
  };
}

interface LateStroke {
  readonly at: number;
  readonly late: number;
}

/** How late strokes near an eighth are, followed over more than an eighth. */
function followed(strokes: readonly TabStroke[]): readonly LateStroke[] {
  const found: LateStroke[] = [];
  let late = 0;
  for (const { at } of strokes) {
    const off = at - late - 0.5 * Math.round(2 * (at - late));
    if (Math.abs(off) >= NEAR) continue;
    found.push({ at, late: late + off });
    late += (found.length === 1 ? 1 : FOLLOW) * off;
  }
  return found;
}

/** By least squares. */
function slopeOf(late: readonly LateStroke[]): number {
  const middle = late.reduce((sum, { at }) => sum + at, 0) / late.length;
  let [up, over] = [0, 0];
  for (const { at, late: by } of late) {
    up += (at - middle) * by;
    over += (at - middle) ** 2;
  }
  return over === 0 ? 0 : up / over;
}

/** Sections of another tempo, more or fewer where the last stroke comes into another one. */
function upTo(
  sections: readonly TabSection[],
  before: number,
  last: number,
  bpm: number,
): readonly TabSection[] {
  const found = sections.map((section) => ({ ...section, bpm }));
  const at = (time: number): TabSection => found.at(time) as TabSection;
  while (found.length > 1 && before >= at(-1).start && last < at(-1).start - NEAR) found.pop();
  while (last >= at(-1).end - NEAR / 2) {
    const { start, end, bar } = at(-1);
    found.push({ start: end, end: 2 * end - start, bpm, bar: bar + 1, within: 0 });
  }
  return found;
}

function byTime(strokes: readonly TabStroke[]): readonly TabStroke[] {
  return [...strokes].sort((a, b) => a.at - b.at);
}
