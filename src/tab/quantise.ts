/** The strokes of a piece of music, flams joined, on the steps of each of its sections. */

import { type Main, withFlams } from './flams.ts';
import { exactFit, nearestFit } from './grid-fit.ts';
import type { FittedStretch, PlacedStroke, TabStretch } from './grid-steps.ts';
import type { Music, TabSection } from './music.ts';

export interface QuantisedSection {
  readonly section: TabSection;
  readonly fitted: FittedStretch;
}

/** By how many ticks music that is exact to the tick may be off: both ends of a distance are rounded. */
const TICKS = 1.1;
/** How early a hand may play the first beat: s, and quarter notes. */
const EARLY = 0.03;
const EARLY_QUARTERS = 0.0625;
/** Tolerance of lengths in music played by hand, quarter notes. */
const LENGTH_TOLERANCE = 1e-6;

export function quantised(music: Music): readonly QuantisedSection[] {
  const { tick, sections } = music;
  const strokes = withFlams(music, TICKS * (tick ?? 0));
  if (tick !== undefined) {
    const tolerance = TICKS * tick;
    const exact = stretchesOf(sections, strokes, music.lines.length, () => tolerance).map(
      (stretch) => exactFit(stretch, tolerance),
    );
    if (exact.every((fitted) => fitted !== undefined))
      return exact.map((fitted, index) => ({
        section: sections[index] as TabSection,
        fitted: fitted as FittedStretch,
      }));
    const pieces = quarters(sections, tolerance, exact);
    if (pieces.length > sections.length) {
      const finer = stretchesOf(pieces, strokes, music.lines.length, () => tolerance).map(
        (stretch) => exactFit(stretch, tolerance),
      );
      if (finer.every((fitted) => fitted !== undefined))
        return finer.map((fitted, index) => ({
          section: pieces[index] as TabSection,
          fitted: fitted as FittedStretch,
        }));
    }
  }
  const early = ({ bpm }: TabSection) => Math.min(EARLY_QUARTERS, (EARLY * bpm) / 60);
  const stretches = stretchesOf(sections, strokes, music.lines.length, early);
  const tolerance = TICKS * (tick ?? LENGTH_TOLERANCE);
  // Sections of one length share a grid; an odd one has its own.
  const groups = new Map<number, number[]>();
  for (const [index, { length }] of stretches.entries()) {
    const key = Math.round(length * 192);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [index]);
    else group.push(index);
  }
  const fitted: FittedStretch[] = [];
  for (const indices of groups.values()) {
    const found = nearestFit(
      indices.map((index) => stretches[index] as TabStretch),
      tolerance,
    );
    for (const [n, index] of indices.entries()) fitted[index] = found[n] as FittedStretch;
  }
  return sections.map((section, index) => ({ section, fitted: fitted[index] as FittedStretch }));
}

/** The sections that do not fit one grid, quarter by quarter. */
function quarters(
  sections: readonly TabSection[],
  tolerance: number,
  exact: readonly (FittedStretch | undefined)[],
): readonly TabSection[] {
  return sections.flatMap((section, index) => {
    const { start, end, within } = section;
    if (exact[index] !== undefined || end - start <= 1 + tolerance) return [section];
    const pieces: TabSection[] = [];
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

function stretchesOf(
  sections: readonly TabSection[],
  strokes: readonly Main[],
  lines: number,
  early: (section: TabSection) => number,
): readonly TabStretch[] {
  let next = 0;
  return sections.map((section, index) => {
    const { start, end, bpm } = section;
    const following = sections[index + 1];
    const last = following === undefined ? Number.POSITIVE_INFINITY : end - early(following);
    const own: PlacedStroke[][] = Array.from({ length: lines }, () => []);
    while (next < strokes.length && (strokes[next] as Main).at < last) {
      const { at, line, strength, flam, apart } = strokes[next++] as Main;
      own[line]?.push({
        at: Math.max(at - start, -1),
        strength,
        ...(flam !== undefined && { flam }),
        ...(apart !== undefined && { apart }),
      });
    }
    return { length: end - start, secondsPerQuarter: 60 / bpm, lines: own };
  });
}
