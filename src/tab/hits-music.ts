/** The music of a recording: all its hits on one line, in bars that begin by its first hit. */

import { isHeardFlam } from './flams.ts';
import { type HeardHit, type LoneStroke, strokesHeard, withoutDrags } from './heard-hits.ts';
import type { Music, TabSection, TabStroke } from './music.ts';
import { withRatchets } from './quick-strokes.ts';
import { TabError } from './transcribe.ts';

/** Accents and ghost strokes, dB over and under the median of all hits. By experience, no source. */
const ACCENT = 2.5;
const GHOST = -8;
const USUAL_BAR = 4;
const SIXTEENTHS = 4;
const MOST_BARS = 20_000;
/**
 * Quarter notes: a hit this early counts as on the next bar; half of this is the most off when the beat is looked
 * for.
 */
const NEAR = 0.08;
/** The most grace strokes that are reported one by one. */
const MOST_TOLD = 12;
/** Hits whose median gives the beat: with eight, its error is half that of a single hit. */
const ENOUGH = 8;
/** Hits that agree among themselves, but not with the first, by more than this, quarter notes: then it is off itself. */
const SOME = 3;
const FIRST_OFF = 0.03;
/** s: a hit that is heard before this may have begun before the recording; s: a grace stroke is nearer to its own. */
const AT_START = 0.005;
const LONGEST_GRACE = 0.09;
/** Other hits that show where in an eighth hits lie. */
const FEWEST = 4;

/** What a recording does not tell of its bars. */
export interface BarsOfRecording {
  /** Quarter notes of a bar; 4 unless given. */
  readonly bar?: number | undefined;
  /** Where in a bar the first hit is, in quarter notes counted from 1; 1 unless given. */
  readonly firstBeat?: number | undefined;
}

/**
 * @param heard by time.
 * @param bpm quarter notes a minute.
 * @throws TabError if there are no hits, or too many bars.
 */
export function hitsMusic(
  heard: readonly HeardHit[],
  bpm: number,
  { bar = USUAL_BAR, firstBeat = 1 }: BarsOfRecording = {},
): Music {
  const single = strokesHeard(heard);
  const { hits: mains } = withoutDrags(single, bpm);
  const beat = mains.length > 0 ? startOf(mains, bpm) : 0;
  const { hits: all, left } = withoutDrags(withRatchets(single, bpm, beat), bpm);
  const isCut = beginsWithin(all, bpm);
  const hits = isCut ? all.slice(1) : all;
  const [first] = hits;
  if (first === undefined)
    throw new TabError(
      'no hits were found in it. Record something struck, with a little silence before it; forehear measure says what a recording suffers from.',
    );
  const levels = hits.map(({ peakDbfs }) => peakDbfs).sort((a, b) => a - b);
  const middle = levels[levels.length >> 1] as number;
  const start = startOf(hits, bpm) - ((firstBeat - 1) * 60) / bpm;
  const strokes = hits.map(({ time, peakDbfs, apart }): TabStroke => {
    const soft = peakDbfs <= middle + GHOST ? 'ghost' : 'plain';
    return {
      at: ((time - start) * bpm) / 60,
      line: 0,
      strength: peakDbfs >= middle + ACCENT ? 'accent' : soft,
      ...loudnessOf({ peakDbfs }),
      ...(apart !== undefined && { apart: (apart * bpm) / 60 }),
    };
  });
  const last = (strokes.at(-1) as TabStroke).at;
  const bars = Math.floor((last + NEAR) / bar) + 1;
  if (bars > MOST_BARS) throw new TabError(`it has ${bars} bars, more than ${MOST_BARS}.`);
  const sections = Array.from({ length: bars }, (_, n): TabSection => {
    const start = bar * n;
    return { start, end: start + bar, bpm, bar: n + 1, within: 0 };
  });
  const remarks = [
    ...(isCut ? ['It begins within a stroke, which is left out.'] : []),
    ...(left.length === 0
      ? []
      : [
          dragsText(
            left.map((at) => ((at - start) * bpm) / 60),
            bar,
          ),
        ]),
  ];
  const beatsPerBar = Number.isInteger(bar) ? bar : USUAL_BAR;
  return { lines: [{ name: 'hit' }], strokes, sections, beatsPerBar, remarks };
}

/**
 * Whether a recording begins within a stroke: what is heard at its start then lies where in an eighth no other hit
 * does.
 */
function beginsWithin([first, ...others]: readonly HeardHit[], bpm: number): boolean {
  const next = others[0]?.time ?? 0;
  if (first === undefined || first.time > AT_START || others.length < FEWEST) return false;
  if (next - first.time < LONGEST_GRACE) return false;
  return others.every(({ time }) => {
    const apart = ((time - first.time) * bpm) / 60;
    return Math.abs(apart - Math.round(2 * apart) / 2) > NEAR / 2;
  });
}

/** @param places of grace strokes, quarter notes from the start. @param length of a bar. */
function dragsText(places: readonly number[], length: number): string {
  const told = places.slice(0, MOST_TOLD).map((at) => {
    const bar = Math.max(0, Math.floor(at / length));
    return `bar ${bar + 1}, beat ${Number((1 + at - length * bar).toFixed(2))}`;
  });
  const more = places.length - told.length;
  return `A step has one grace stroke: of drags and ruffs the others are left out (${told.join('; ')}${more > 0 ? `; and ${more} more` : ''}).`;
}

function loudnessOf({ peakDbfs }: Pick<HeardHit, 'peakDbfs'>): Pick<TabStroke, 'loudness'> {
  return { loudness: 10 ** (peakDbfs / 20) };
}

/**
 * s: the time of the first beat. The first hit that is not a grace stroke is on it, corrected by how far all hits
 * are off.
 */
function startOf(hits: readonly LoneStroke[], bpm: number): number {
  const [grace, main] = hits as readonly [LoneStroke, LoneStroke | undefined];
  const isFlam =
    main !== undefined &&
    grace.apart === undefined &&
    isHeardFlam(loudnessOf(grace), loudnessOf(main), main.time - grace.time);
  let first = (isFlam ? main : grace).time;
  const offAt = (grid: number, most: number): readonly number[] =>
    hits
      .map(({ time }) => ((time - first) * bpm * grid) / 60)
      .map((at) => (at - Math.round(at)) / grid)
      .filter((late) => Math.abs(late) < most)
      .sort((a, b) => a - b);
  const middle = (sorted: readonly number[]): number => sorted[sorted.length >> 1] ?? 0;
  // The first may be off itself: at the very start a flam has its grace stroke on the beat, and the main one after it.
  const beats = offAt(1, NEAR);
  const usual = middle(beats);
  const near = (off: number): number =>
    beats.filter((one) => Math.abs(one - off) < FIRST_OFF).length;
  const isOff = Math.abs(usual) > FIRST_OFF && near(usual) >= SOME && near(usual) > 2 * near(0);
  if (isOff) first += (usual * 60) / bpm;
  // Swing moves every second sixteenth, or eighth: only hits on beats are used, if there are enough.
  for (const grid of [1, 2, SIXTEENTHS]) {
    const off = offAt(grid, NEAR / 2);
    if (off.length >= ENOUGH || grid === SIXTEENTHS) return first + (middle(off) * 60) / bpm;
  }
  return first;
}
