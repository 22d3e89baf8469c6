/**
 * The grace strokes of flams, drags and ruffs, and the strokes of ratchets, that neither levels nor an inverse filter tell, since each rings into
 * the next: with the course of the drum's power, from strokes of it that are heard alone in the same recording.
 *
 * Method: the powers around strokes that follow one another closely are explained as a sum of strokes of one known
 * sound (`course-fit.ts`): those that were heard, or two to four at even distances, each heard one among them. What is
 * compared is the likelihood, given how much the lone strokes of that sound differ from one another. More strokes are
 * told only where they explain far more, and where what they leave unexplained is as little as a lone stroke leaves.
 * Strokes as loud as one another are a ratchet's, which may be farther apart; those before a louder one are grace
 * strokes.
 */

import { reliabilityOf } from '../../estimate.ts';
import { explained } from './course-fit.ts';
import type { Flam } from './flam.ts';
import { type KnownStroke, knownStrokes, LEAD } from './known-strokes.ts';
import { BEFORE, HOP } from './stroke-course.ts';

export interface Drag {
  /** When the main stroke sets in, s from the start of the recording. */
  readonly time: number;
  /** The grace strokes, the earliest first. */
  readonly graces: readonly {
    /** How long before the main stroke, s. */
    readonly seconds: number;
    readonly softerDb: number;
  }[];
  /** Reliability of the distance from each stroke to the next, from 0 to 1. */
  readonly reliability: number;
}

/** Equal strokes at even distances, of which not all were heard. */
export interface Ratchet {
  /** When the first sets in, s from the start of the recording. */
  readonly time: number;
  readonly strokes: number;
  /** From each to the next, s. */
  readonly seconds: number;
  /** Reliability of `seconds`, from 0 to 1. */
  readonly reliability: number;
}

/** What is known of a hit when a recording has ended. */
export interface HeardStroke {
  /** s. */
  readonly time: number;
  /** A grace stroke and a main one that were heard as one. */
  readonly flam: Flam | null;
  readonly course: Float32Array;
}

/** The grace strokes of a hit: one, or two and three; or the strokes of which it is the first. */
export interface Graces {
  readonly flam: Flam | null;
  readonly drag: Drag | null;
  readonly ratchet: Ratchet | null;
}

const NOTHING: Graces = { flam: null, drag: null, ratchet: null };

/** A stroke is alone if none comes so long before it, and so long after, s. */
const ALONE_BEFORE = 0.15;
const ALONE_AFTER = 0.16;
/** Strokes nearer than this may belong together, s; nearer than this they are the same. */
const NEAR = 0.095;
const SAME = 0.004;
/** Distances that are tried, hops: first whole ones, then parts of a hop around the best. */
const [NEAREST, FARTHEST] = [14, 36];
const PARTS = [-0.75, -0.5, -0.25, 0, 0.25, 0.5, 0.75];
/** Of those that only ratchets have, every second is tried first. */
const COARSE = 2;
const COARSE_PARTS = [-1.5, -1.25, -1, ...PARTS, 1, 1.25, 1.5];
const MOST_GRACES = 3;
/** How far the first stroke may be off its onset, and one that was heard from where it is explained, hops. */
const SHIFTS = [-3, -2, -1, 0, 1, 2, 3];
const ASTRAY = 2.5;
/** What a further stroke must gain at least, and all of them together, in units of ln likelihood. */
const WORTH = 6;
const CLEAR = 32;
/** A hop's share of the misfit is 1/2 where the sum is right: more than this is another sound. */
const RIGHT = 1.3;
/** How much softer than the main stroke grace strokes are, and how far these differ among themselves, dB. */
const [LEAST_DB, MOST_DB] = [2.5, 14];
const UNEVEN_DB = 5;
/**
 * How much the strokes of a ratchet differ, dB, how far apart they are, hops, where two alone are farther apart than a
 * flam, and how long after the first the last comes.
 */
const RATCHET_DB = 4;
const [NEAREST_OF_TWO, RATCHET_FARTHEST] = [40, 75];
const LAST = 115;
/** Hops: before the first stroke that are explained too, or make the floor; after it; and kept from what comes next. */
const EARLIER = 8;
const FLOOR = 10;
const LATER = 150;
const GUARD = 3;
/** The least to look at after the first stroke, hops. */
const ENOUGH = 60;
/** How exactly a stroke is placed, s: one standard deviation, by trial. */
const PLACED = 0.0007;

/**
 * Finds the grace strokes of the hits of a recording.
 * @param hits by time.
 * @returns those of each hit. A flam or a drag belongs to the last of its strokes that is a hit of its own; what was
 * known before stays, unless it is a part of that. A ratchet belongs to the first of its strokes.
 */
export function gracesOf(hits: readonly HeardStroke[]): readonly Graces[] {
  const found: Graces[] = hits.map(({ flam }) => ({ ...NOTHING, flam }));
  const sounds = knownStrokes(hits.filter((_, n) => isAlone(hits, n)).map(({ course }) => course));
  if (sounds.length === 0) return found;
  for (let n = 0; n < hits.length; ) {
    const first = n++;
    while (n < hits.length && timeOf(hits, n) - timeOf(hits, n - 1) < NEAR) n++;
    const ends = n < hits.length ? timeOf(hits, n) : Number.POSITIVE_INFINITY;
    const told = strokesOf(hits.slice(first, n), ends, sounds);
    if (told === null) continue;
    found.fill(NOTHING, first, n);
    if ('strokes' in told) {
      found[first] = { ...NOTHING, ratchet: told };
      continue;
    }
    const { time, graces, reliability } = told;
    const [only, ...others] = graces;
    if (only === undefined) continue;
    found[n - 1] =
      others.length > 0
        ? { ...NOTHING, drag: told }
        : { ...NOTHING, flam: { time, reliability, ...only } };
  }
  return found;
}

function timeOf(hits: readonly HeardStroke[], n: number): number {
  return hits[n]?.time ?? Number.POSITIVE_INFINITY;
}

function isAlone(hits: readonly HeardStroke[], n: number): boolean {
  const { time, flam } = hits[n] as HeardStroke;
  if (flam !== null || timeOf(hits, n + 1) - time <= ALONE_AFTER) return false;
  return n === 0 || time - timeOf(hits, n - 1) > ALONE_BEFORE;
}

interface HopStretch {
  /** s: its first stroke. */
  readonly time: number;
  /** Hops: of the heard strokes, from the first on. */
  readonly heard: readonly number[];
  readonly powers: Float32Array;
  readonly floor: number;
  readonly from: number;
  readonly to: number;
}

interface StrokeReading {
  readonly sound: KnownStroke;
  /** Hops from the first onset on, not always whole. */
  readonly starts: readonly number[];
  readonly gains: readonly number[];
  /** Of the sum, in units of ln likelihood. */
  readonly cost: number;
  /** Of that, what a hop has. */
  readonly each: number;
}

/** @param ends when the next stroke that does not belong to these comes, s. */
function strokesOf(
  hits: readonly HeardStroke[],
  ends: number,
  sounds: readonly KnownStroke[],
): Drag | Ratchet | null {
  const stretch = stretchOf(hits, ends);
  if (stretch === null) return null;
  const { heard } = stretch;
  const asHeard = cheapest(
    sounds.flatMap((sound) =>
      SHIFTS.map((shift) =>
        readingOf(
          stretch,
          sound,
          heard.map((hop) => Math.round(hop) + shift),
        ),
      ),
    ),
  );
  // What is explained already cannot gain enough.
  const hops = stretch.to - stretch.from;
  if (asHeard === null || (asHeard.each * hops < CLEAR && asHeard.each < RIGHT)) return null;
  const best = cheapest(sounds.map((sound) => evenly(stretch, sound)));
  if (best === null || best.each > RIGHT) return null;
  const more = best.starts.length - heard.length;
  if (asHeard.cost - best.cost < Math.max(CLEAR, WORTH * more)) return null;
  return isDrag(best) ? asDrag(stretch, best) : asRatchet(stretch, best);
}

function stretchOf(hits: readonly HeardStroke[], ends: number): HopStretch | null {
  const [first] = hits as readonly [HeardStroke];
  const { course } = first;
  const times: number[] = [];
  for (const { time, flam } of hits)
    for (const one of flam === null ? [time] : [time, flam.time - flam.seconds, flam.time])
      if (times.every((other) => Math.abs(other - one) > SAME)) times.push(one);
  const heard = times.sort((a, b) => a - b).map((time) => (time - first.time) / HOP);
  const to = Math.min(LATER, Math.floor((ends - first.time) / HOP) - GUARD);
  const last = heard.at(-1) as number;
  if (to < ENOUGH || last > LAST || heard.length > MOST_GRACES) return null;
  let floor = 0;
  for (let h = BEFORE - FLOOR; h < BEFORE - 1; h++) floor += (course[h] as number) / (FLOOR - 1);
  return {
    time: first.time,
    heard,
    powers: course,
    floor,
    from: BEFORE - EARLIER,
    to: BEFORE + to,
  };
}

/** Two to four strokes at even distances, the heard ones among them. */
function evenly(stretch: HopStretch, sound: KnownStroke): StrokeReading | null {
  const { heard } = stretch;
  const tries: StrokeReading[] = [];
  for (let graces = heard.length; graces <= MOST_GRACES; graces++) {
    const at = (apart: number, shift: number): StrokeReading | null => {
      const starts = Array.from({ length: graces + 1 }, (_, k) => k * apart);
      const isHeard = heard.every((hop) => starts.some((one) => Math.abs(one - hop) <= ASTRAY));
      if (!isHeard) return null;
      const one = readingOf(
        stretch,
        sound,
        starts.map((start) => Math.round(start) + shift),
      );
      return (apart <= FARTHEST && isDrag(one)) || isRatchet(one) ? one : null;
    };
    const farthest = Math.min(RATCHET_FARTHEST, Math.floor(LAST / graces));
    const whole: { readonly apart: number; readonly reading: StrokeReading | null }[] = [];
    for (let apart = NEAREST; apart <= farthest; apart += apart < FARTHEST ? 1 : COARSE)
      whole.push({ apart, reading: at(apart, 0) });
    const near = whole.reduce((a, b) =>
      (b.reading?.cost ?? 1e99) < (a.reading?.cost ?? 1e99) ? b : a,
    );
    if (near.reading === null) continue;
    const parts = near.apart <= FARTHEST ? PARTS : COARSE_PARTS;
    const closer = parts.flatMap((part) => [-1, 0, 1].map((shift) => at(near.apart + part, shift)));
    const best = cheapest([near.reading, ...closer]);
    if (best !== null) tries.push(best);
  }
  // One more stroke explains a little more in any case.
  return tries.reduce<StrokeReading | null>(
    (best, one) =>
      best === null || one.cost + WORTH * (one.starts.length - best.starts.length) < best.cost
        ? one
        : best,
    null,
  );
}

function readingOf(
  stretch: HopStretch,
  sound: KnownStroke,
  starts: readonly number[],
): StrokeReading {
  const { from, to, powers, floor } = stretch;
  const { course, shape } = sound;
  const { gains, misfit } = explained({
    powers,
    from,
    to,
    floor,
    course,
    starts: starts.map((start) => BEFORE - LEAD + start),
  });
  const hops = to - from;
  return {
    sound,
    starts,
    gains,
    // Twice as much scatter makes each hop less likely by a root of two.
    cost: shape * misfit - (hops / 2) * Math.log(shape),
    each: (shape * misfit) / hops,
  };
}

function isDrag({ gains }: StrokeReading): boolean {
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const softer of softerThanMain(gains)) {
    least = Math.min(least, softer);
    most = Math.max(most, softer);
  }
  return least >= LEAST_DB && most <= MOST_DB && most - least <= UNEVEN_DB;
}

function isRatchet({ gains, starts }: StrokeReading): boolean {
  const [first = 0, second = 0] = starts;
  if (starts.length === 2 && second - first < NEAREST_OF_TWO) return false;
  let [least, most] = [Number.POSITIVE_INFINITY, 0];
  for (const gain of gains) {
    least = Math.min(least, gain);
    most = Math.max(most, gain);
  }
  return 10 * Math.log10(most / Math.max(least, 1e-30)) <= RATCHET_DB;
}

/** dB, of each but the last. */
function softerThanMain(gains: readonly number[]): readonly number[] {
  const main = gains.at(-1) as number;
  return gains.slice(0, -1).map((gain) => 10 * Math.log10(main / Math.max(gain, 1e-30)));
}

function cheapest(readings: readonly (StrokeReading | null)[]): StrokeReading | null {
  return readings.reduce((best, one) => {
    if (one === null) return best;
    return best === null || one.cost < best.cost ? one : best;
  }, null);
}

/** When each stroke of a reading sets in, s. What was heard is placed more exactly than by hops. */
function timesOf({ time, heard }: HopStretch, { starts }: StrokeReading): readonly number[] {
  return starts.map((start) => {
    const near = heard.find((hop) => Math.abs(hop - start) <= ASTRAY);
    return time + HOP * (near ?? start);
  });
}

function asRatchet(stretch: HopStretch, reading: StrokeReading): Ratchet {
  const at = timesOf(stretch, reading);
  const [time, last] = [at[0] as number, at.at(-1) as number];
  const seconds = (last - time) / (at.length - 1);
  return { time, strokes: at.length, seconds, reliability: reliabilityOf(PLACED / seconds) };
}

function asDrag(stretch: HopStretch, reading: StrokeReading): Drag {
  const at = timesOf(stretch, reading);
  const { gains } = reading;
  const main = at.at(-1) as number;
  const softer = softerThanMain(gains);
  const graces = at
    .slice(0, -1)
    .map((one, k) => ({ seconds: main - one, softerDb: softer[k] as number }));
  const apart = (graces[0]?.seconds ?? 0) / graces.length;
  return { time: main, graces, reliability: reliabilityOf(PLACED / apart) };
}
