/** Joins the two strokes of a flam: in a file found by their loudness, in a recording by how near they are. */

import type { Music, TabSection, TabStroke } from './music.ts';

/** A stroke; for a flam, the main one. */
export interface Main extends TabStroke {
  /** How long before it the grace stroke comes, s. */
  readonly flam?: number;
}

/** A grace stroke comes at most this long before its main stroke, s, and is at most this share as loud. */
const LONGEST = 0.06;
const SHORTEST = 0.001;
const SOFTER = 0.8;
/** Of 127: a stroke of a file as soft as this may be a grace stroke of any other. */
const SOFT = 60;
/** In a recording strokes this near, s, are a flam, unless the first is louder by this: no hand plays steps so fast. */
const SURE = 0.035;
const LOUDER = 2;
/** Flams are rounded to a tenth of a millisecond. */
const PER_SECOND = 10_000;
/** s: flams that differ by no more are the same, in a file and as played by hand (by experience, no source). */
const SAME = 0.0006;
const SAME_BY_HAND = 0.01;

/** Whether two strokes of a file are a flam. @param apart s. */
function isFlam(grace: TabStroke, main: TabStroke, apart: number): boolean {
  const isSoft =
    grace.loudness <= SOFTER * main.loudness ||
    (grace.loudness <= SOFT && grace.loudness !== main.loudness);
  return isNear(apart) && isSoft && grace.strength !== 'accent';
}

/** Whether two hits of a recording are a flam: these may be equally loud. @param apart s. */
export function isHeardFlam(
  grace: Pick<TabStroke, 'loudness'>,
  main: Pick<TabStroke, 'loudness'>,
  apart: number,
): boolean {
  const most = apart <= SURE ? LOUDER : SOFTER;
  return isNear(apart) && grace.loudness <= most * main.loudness;
}

function isNear(apart: number): boolean {
  return apart >= SHORTEST && apart <= LONGEST;
}

/** The strokes by time, each flam as one. @param tolerance of times in a file, quarter notes. */
export function withFlams(
  { strokes, sections, lines, tick }: Music,
  tolerance: number,
): readonly Main[] {
  const byLine: TabStroke[][] = lines.map(() => []);
  for (const stroke of strokes) byLine[stroke.line]?.push(stroke);
  const bpmAt = tempoAt(sections);
  const isHeard = tick === undefined;
  const flams: number[] = [];
  const apartAt = (line: readonly TabStroke[], n: number): number => {
    const [grace, main] = [line[n], line[n + 1]];
    if (grace === undefined || main === undefined) return Number.POSITIVE_INFINITY;
    return ((main.at - grace.at) * 60) / bpmAt(main.at);
  };
  const isPair = (line: readonly TabStroke[], n: number): boolean => {
    const [grace, main] = [line[n], line[n + 1]];
    const test = isHeard ? isHeardFlam : isFlam;
    if (grace === undefined || main === undefined) return false;
    const isRatchet = grace.apart !== undefined || main.apart !== undefined;
    return !isRatchet && test(grace, main, apartAt(line, n));
  };
  const mains = byLine.flatMap((line) => {
    const found: Main[] = [];
    for (let n = 0; n < line.length; n++) {
      const grace = line[n] as TabStroke;
      const main = line[n + 1];
      const apart = apartAt(line, n);
      // The possible main stroke may itself be the grace stroke of a nearer one.
      const isNearer = isPair(line, n + 1) && apartAt(line, n + 1) < apart;
      if (main === undefined || !isPair(line, n) || isNearer) {
        found.push(grace);
        continue;
      }
      n += 1;
      // At the very start of a file the grace stroke is on the step, since nothing can come before it.
      const isFirst = !isHeard && grace.at <= tolerance;
      // The louder of both says how hard it was struck.
      const { strength } = isHeard && grace.loudness > main.loudness ? grace : main;
      found.push({ ...main, strength, at: isFirst ? grace.at : main.at, flam: apart });
      flams.push(apart);
    }
    return found;
  });
  flams.sort((a, b) => a - b);
  const middle = flams[flams.length >> 1] ?? 0;
  const same = isHeard ? SAME_BY_HAND : SAME;
  return mains
    .map(({ flam, ...main }): Main => {
      if (flam === undefined) return main;
      const near = Math.abs(flam - middle) <= same ? middle : flam;
      return { ...main, flam: plain(near) };
    })
    .sort((a, b) => a.at - b.at);
}

/** In whole milliseconds where that is near enough. */
function plain(seconds: number): number {
  const whole = Math.round(seconds * 1000) / 1000;
  const isNear = Math.abs(whole - seconds) <= SAME / 2 && whole > 0;
  return isNear ? whole : Math.max(SHORTEST, Math.round(seconds * PER_SECOND) / PER_SECOND);
}

function tempoAt(sections: readonly TabSection[]): (at: number) => number {
  let index = 0;
  return (at) => {
    if (at < (sections[index] as TabSection).start) index = 0;
    while (index < sections.length - 1 && (sections[index] as TabSection).end <= at) index++;
    return (sections[index] as TabSection).bpm;
  };
}
