/**
 * The strokes of a piece of music, flams joined, on the steps of each of its sections; what is late as a whole is taken
 * as on time if that is the shorter description.
 */

import { type Main, withFlams } from './flams.ts';
import { bitsOf, exactFit, nearestFit } from './grid-fit.ts';
import type { FittedStretch, PlacedStroke, TabStretch } from './grid-steps.ts';
import { onTimeOf } from './lateness.ts';
import type { Music, TabSection } from './music.ts';

export interface QuantisedSection {
  readonly section: TabSection;
  readonly fitted: FittedStretch;
}

/** By how many ticks music that is exact to the tick may be off: both ends of a distance are rounded. */
const TICKS = 1.1;
/** More steps of a quarter note than this are no usual ones. */
const MOST_PLAIN = 8;
/** How early a hand may play the first beat: s, and quarter notes. */
const EARLY = 0.03;
const EARLY_QUARTERS = 0.0625;
/** Tolerance of lengths in music played by hand, quarter notes. */
const LENGTH_TOLERANCE = 1e-6;

/** A piece of music on its grids. */
export interface Quantised {
  readonly sections: readonly QuantisedSection[];
  /** How the strokes were late as a whole, in words: a sentence, if they were. */
  readonly late: readonly string[];
}

export function quantised(music: Music): Quantised {
  let best = described(music);
  let late: readonly string[] = [];
  if (best.isPlain) return { sections: best.sections, late };
  for (const { music: onTime, bits, words } of onTimeOf(music)) {
    const other = described(onTime);
    // To be on all steps to the tick is no chance.
    const isTrue = other.isPlain && !best.isExact;
    if (!isTrue && other.bits + bits >= best.bits) continue;
    best = { ...other, bits: other.bits + bits };
    late = [words];
    if (other.isPlain) break;
  }
  return { sections: best.sections, late };
}

interface Description {
  readonly sections: readonly QuantisedSection[];
  readonly bits: number;
  /** Whether all strokes are on their steps to the tick, and whether these are usual ones too. */
  readonly isExact: boolean;
  readonly isPlain: boolean;
}

function described(music: Music): Description {
  const { tick, sections } = music;
  const strokes = withFlams(music, TICKS * (tick ?? 0));
  return (
    (tick === undefined ? undefined : exactly(music, strokes, TICKS * tick)) ??
    nearest(sections, strokes, music.lines.length, TICKS * (tick ?? LENGTH_TOLERANCE))
  );
}

/** @returns undefined if some strokes are on no steps to the tick. */
function exactly(
  { sections, lines }: Music,
  strokes: readonly Main[],
  tolerance: number,
): Description | undefined {
  const fitOf = (some: readonly TabSection[]) =>
    stretchesOf(some, strokes, lines.length, () => tolerance).map((stretch) =>
      exactFit(stretch, tolerance),
    );
  const whole = fitOf(sections);
  const pieces = quarters(sections, tolerance, whole);
  for (const some of pieces.length > sections.length ? [sections, pieces] : [sections]) {
    const fitted = some === sections ? whole : fitOf(some);
    if (!fitted.every((one) => one !== undefined)) continue;
    return {
      sections: fitted.map((one, index) => ({ section: some[index] as TabSection, fitted: one })),
      bits: fitted.reduce((sum, one) => sum + bitsOf(one), 0),
      isExact: true,
      isPlain: fitted.every(({ stepsPerQuarter: steps }) => steps > 1 && steps <= MOST_PLAIN),
    };
  }
  return undefined;
}

function nearest(
  sections: readonly TabSection[],
  strokes: readonly Main[],
  lines: number,
  tolerance: number,
): Description {
  const early = ({ bpm }: TabSection) => Math.min(EARLY_QUARTERS, (EARLY * bpm) / 60);
  const stretches = stretchesOf(sections, strokes, lines, early);
  // Sections of one length share a grid; an odd one has its own.
  const groups = new Map<number, number[]>();
  for (const [index, { length }] of stretches.entries()) {
    const key = Math.round(length * 192);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [index]);
    else group.push(index);
  }
  const fitted: FittedStretch[] = [];
  let bits = 0;
  for (const indices of groups.values()) {
    const found = nearestFit(
      indices.map((index) => stretches[index] as TabStretch),
      tolerance,
    );
    bits += found.bits;
    for (const [n, index] of indices.entries()) fitted[index] = found.fitted[n] as FittedStretch;
  }
  return {
    sections: sections.map((section, n) => ({ section, fitted: fitted[n] as FittedStretch })),
    bits,
    isExact: false,
    isPlain: false,
  };
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
