/** The strokes of a music, flams put together, on the steps of each of its sections. */

import { exactFit, type FittedStretch, nearestFit, type Placed, type Stretch } from './grid-fit.ts';
import type { Music, Section, Stroke } from './music.ts';

export interface QuantisedSection {
  readonly section: Section;
  readonly fitted: FittedStretch;
}

/** A grace stroke comes at most this long before its main stroke, s, and no louder than this share. */
const LONGEST_FLAM = 0.06;
const SOFTER = 0.8;
/** Of 127: a stroke as soft as this may be a grace stroke of anything. */
const SOFT = 60;
/** By how many ticks what is written to the tick may be off: both ends of a distance are rounded. */
const TICKS = 1.1;
/** How early a hand may play the first beat: s, and quarter notes. */
const EARLY = 0.02;
const EARLY_QUARTERS = 0.055;
/** Lengths of what a hand has played, quarter notes. */
const LENGTH_TOLERANCE = 1e-6;
/** To a tenth of a millisecond. */
const FLAM_STEPS = 10_000;
/** Flams as near as this are one, s. */
const SAME_FLAM = 0.0006;

export function quantised(music: Music): readonly QuantisedSection[] {
  const { tick, sections } = music;
  const strokes = withFlams(music);
  if (tick !== undefined) {
    const tolerance = TICKS * tick;
    const exact = stretchesOf(sections, strokes, music.lines.length, () => tolerance).map(
      (stretch) => exactFit(stretch, tolerance),
    );
    if (exact.every((fitted) => fitted !== undefined))
      return exact.map((fitted, index) => ({
        section: sections[index] as Section,
        fitted: fitted as FittedStretch,
      }));
    const pieces = quarters(sections, tolerance, exact);
    if (pieces.length > sections.length) {
      const finer = stretchesOf(pieces, strokes, music.lines.length, () => tolerance).map(
        (stretch) => exactFit(stretch, tolerance),
      );
      if (finer.every((fitted) => fitted !== undefined))
        return finer.map((fitted, index) => ({
          section: pieces[index] as Section,
          fitted: fitted as FittedStretch,
        }));
    }
  }
  const early = ({ bpm }: Section) => Math.min(EARLY_QUARTERS, (EARLY * bpm) / 60);
  const stretches = stretchesOf(sections, strokes, music.lines.length, early);
  const tolerance = TICKS * (tick ?? LENGTH_TOLERANCE);
  // Sections of one length share a grid; an odd one has its own.
  const groups = new Map<number, number[]>();
  for (const [index, { length }] of stretches.entries()) {
    const key = Math.round(length * 192);
    groups.set(key, [...(groups.get(key) ?? []), index]);
  }
  const fitted: FittedStretch[] = [];
  for (const indices of groups.values()) {
    const found = nearestFit(
      indices.map((index) => stretches[index] as Stretch),
      tolerance,
    );
    for (const [n, index] of indices.entries()) fitted[index] = found[n] as FittedStretch;
  }
  return sections.map((section, index) => ({ section, fitted: fitted[index] as FittedStretch }));
}

/** The sections that have no grid of their own, quarter by quarter. */
function quarters(
  sections: readonly Section[],
  tolerance: number,
  exact: readonly (FittedStretch | undefined)[],
): readonly Section[] {
  return sections.flatMap((section, index) => {
    const { start, end, within } = section;
    if (exact[index] !== undefined || end - start <= 1 + tolerance) return [section];
    const pieces: Section[] = [];
    for (let at = start; at < end - tolerance; at += 1)
      pieces.push({
        ...section,
        start: at,
        end: Math.min(end, at + 1),
        within: within + at - start,
      });
    return pieces;
  });
}

interface Main extends Stroke {
  readonly flam?: number;
}

function withFlams({ strokes, sections, lines, tick }: Music): readonly Main[] {
  const byLine: Stroke[][] = lines.map(() => []);
  for (const stroke of strokes) byLine[stroke.line]?.push(stroke);
  const bpmAt = tempoAt(sections);
  const flams: number[] = [];
  const mains = byLine.flatMap((line) => {
    const found: Main[] = [];
    for (let n = 0; n < line.length; n++) {
      const grace = line[n] as Stroke;
      const main = line[n + 1];
      const seconds = main === undefined ? 1 : ((main.at - grace.at) * 60) / bpmAt(main.at);
      const isSoft =
        main !== undefined &&
        grace.strength !== 'accent' &&
        (grace.loudness <= SOFTER * main.loudness ||
          (tick !== undefined && grace.loudness <= SOFT && grace.loudness !== main.loudness));
      if (main === undefined || seconds > LONGEST_FLAM || seconds < 0.001 || !isSoft) {
        found.push(grace);
        continue;
      }
      n += 1;
      // At the very start the grace stroke is on the step, since nothing can come before it.
      const isFirst = grace.at <= TICKS * (tick ?? 0);
      found.push({ ...main, at: isFirst ? grace.at : main.at, flam: seconds });
      flams.push(seconds);
    }
    return found;
  });
  flams.sort((a, b) => a - b);
  const middle = flams[flams.length >> 1] ?? 0;
  return mains
    .map(({ flam, ...main }): Main => {
      if (flam === undefined) return main;
      const near = Math.abs(flam - middle) <= SAME_FLAM ? middle : flam;
      return { ...main, flam: plainFlam(near) };
    })
    .sort((a, b) => a.at - b.at);
}

/** In whole milliseconds where that is as near. */
function plainFlam(seconds: number): number {
  const whole = Math.round(seconds * 1000) / 1000;
  const isNear = Math.abs(whole - seconds) <= SAME_FLAM / 2 && whole > 0;
  return isNear ? whole : Math.max(0.001, Math.round(seconds * FLAM_STEPS) / FLAM_STEPS);
}

function tempoAt(sections: readonly Section[]): (at: number) => number {
  let index = 0;
  return (at) => {
    if (at < (sections[index] as Section).start) index = 0;
    while (index < sections.length - 1 && (sections[index] as Section).end <= at) index++;
    return (sections[index] as Section).bpm;
  };
}

function stretchesOf(
  sections: readonly Section[],
  strokes: readonly Main[],
  lines: number,
  early: (section: Section) => number,
): readonly Stretch[] {
  let next = 0;
  return sections.map((section, index) => {
    const { start, end, bpm } = section;
    const following = sections[index + 1];
    const last = following === undefined ? Number.POSITIVE_INFINITY : end - early(following);
    const own: Placed[][] = Array.from({ length: lines }, () => []);
    while (next < strokes.length && (strokes[next] as Main).at < last) {
      const { at, line, strength, flam } = strokes[next++] as Main;
      own[line]?.push({
        at: Math.max(at - start, -1),
        strength,
        ...(flam !== undefined && { flam }),
      });
    }
    return { length: end - start, secondsPerQuarter: 60 / bpm, lines: own };
  });
}
