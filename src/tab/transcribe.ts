/** Music to patterns and a song: bars that are alike share a pattern. */

import type { FittedStretch, TabStep } from './grid-steps.ts';
import type { Music } from './music.ts';
import { type QuantisedSection, quantised } from './quantise.ts';

export interface TabLine {
  /** Index into the music's lines. */
  readonly line: number;
  readonly steps: readonly (TabStep | undefined)[];
  readonly share: number;
}

export interface TabPattern {
  readonly name: string;
  readonly stepsPerQuarter: number;
  readonly steps: number;
  /** The swing of most of its lines. */
  readonly share: number;
  readonly lines: readonly TabLine[];
}

export interface TabEntry {
  readonly pattern: string;
  readonly repeats: number;
  readonly bpm: number;
}

export interface TabBar {
  /** Counted from 1. */
  readonly bar: number;
  readonly pattern: string;
}

/** A stroke that is not written as it was played. */
export interface TabMisfit {
  readonly line: string;
  readonly bar: number;
  /** Quarter notes, counted from 1. */
  readonly beat: number;
  /** s; absent for a stroke that is left out. */
  readonly late?: number;
}

export interface Tab {
  /** The tempo of most of the song. */
  readonly bpm: number;
  readonly flam: number | undefined;
  readonly patterns: readonly TabPattern[];
  readonly song: readonly TabEntry[];
  /** The pattern of each bar, in order; a bar that changes within has several. */
  readonly bars: readonly TabBar[];
  readonly misfits: readonly TabMisfit[];
  /** s; the most that a fitting stroke was off its step. */
  readonly off: number;
  /** Stretches that are longer or shorter than in the music, since no grid fills them, in words. */
  readonly uneven: readonly string[];
  /** How strokes were late as a whole, which is taken away, in words. */
  readonly late: readonly string[];
  /** Lines that may as well be read with another swing, by the bar in which they come first. */
  readonly alike: readonly (TabLine & { readonly bar: number; readonly stepsPerQuarter: number })[];
}

/** Tolerance of lengths in music played by hand, quarter notes. */
const LENGTH_TOLERANCE = 1e-6;
/** The most patterns of a patch. */
const MOST_PATTERNS = 1000;
const MOST_ENTRIES = 10_000;
const MOST_REPEATS = 100;

/** Thrown for music that does not fit into one rhythm. */
export class TabError extends Error {}

/** @throws TabError for more bars than a rhythm holds. */
export function transcribe(music: Music): Tab {
  const { sections, late } = quantised(music);
  const patterns = new Map<string, TabPattern>();
  const names = new Set<string>();
  const song: { pattern: string; repeats: number; bpm: number }[] = [];
  const alike: Tab['alike'][number][] = [];
  const bars: TabBar[] = [];
  for (const section of sections) {
    const key = keyOf(section.fitted);
    let pattern = patterns.get(key);
    if (pattern === undefined) {
      pattern = patternOf(section.fitted, nameOf(section, names));
      patterns.set(key, pattern);
      const { stepsPerQuarter, alike: others = [] } = section.fitted;
      for (const line of others) alike.push({ ...line, stepsPerQuarter, bar: section.section.bar });
    }
    bars.push({ bar: section.section.bar, pattern: pattern.name });
    const last = song.at(-1);
    const { bpm } = section.section;
    if (last?.pattern === pattern.name && last.bpm === bpm && last.repeats < MOST_REPEATS)
      last.repeats += 1;
    else song.push({ pattern: pattern.name, repeats: 1, bpm });
  }
  if (patterns.size > MOST_PATTERNS || song.length > MOST_ENTRIES)
    throw new TabError(
      `that makes ${patterns.size} different patterns in a song of ${song.length} entries, and a rhythm holds ${MOST_PATTERNS} and ${MOST_ENTRIES}. Cut the recording or the file shorter.`,
    );
  const misfits = sections.flatMap(({ section, fitted }) =>
    fitted.misfits.map(({ line, at, late }) => ({
      line: music.lines[line]?.name ?? '',
      bar: section.bar,
      beat: 1 + section.within + at,
      ...(late !== undefined && { late }),
    })),
  );
  return {
    bpm: usualTempo(sections),
    flam: usualFlam(sections),
    patterns: [...patterns.values()],
    song,
    bars,
    misfits,
    off: sections.reduce((most, { fitted }) => Math.max(most, fitted.off ?? 0), 0),
    uneven: unevenIn(sections, 2 * (music.tick ?? LENGTH_TOLERANCE)),
    alike,
    late,
  };
}

/** @param tolerance quarter notes. */
function unevenIn(sections: readonly QuantisedSection[], tolerance: number): readonly string[] {
  return sections.flatMap(({ section: { start, end, bar }, fitted }) => {
    const [is, written] = [end - start, fitted.steps / fitted.stepsPerQuarter];
    if (Math.abs(is - written) <= tolerance) return [];
    const inQuarters = (length: number): string => `${Number(length.toPrecision(3))}`;
    return [
      `bar ${bar}: ${inQuarters(is)} quarter notes of it are no whole steps, and are written as ${inQuarters(written)}: what follows comes that much ${written > is ? 'later' : 'earlier'}.`,
    ];
  });
}

function patternOf({ stepsPerQuarter, steps, lines }: FittedStretch, name: string): TabPattern {
  const struck = lines
    .map((line, index): TabLine => ({ ...line, line: index }))
    .filter((line) => line.steps.some((step) => step !== undefined));
  const share = mostCommon(struck.map((line) => line.share)) ?? 0.5;
  return { name, stepsPerQuarter, steps, share, lines: struck };
}

function nameOf({ section }: QuantisedSection, taken: Set<string>): string {
  const plain = `bar-${section.bar}`;
  let name = plain;
  for (let count = 2; taken.has(name); count++) name = `${plain}-${count}`;
  taken.add(name);
  return name;
}

function keyOf({ stepsPerQuarter, steps, lines }: FittedStretch): string {
  return JSON.stringify([stepsPerQuarter, steps, lines]);
}

function usualTempo(sections: readonly QuantisedSection[]): number {
  const quarters = new Map<number, number>();
  for (const { section } of sections)
    quarters.set(section.bpm, (quarters.get(section.bpm) ?? 0) + section.end - section.start);
  return most(quarters) ?? 120;
}

function usualFlam(sections: readonly QuantisedSection[]): number | undefined {
  return mostCommon(
    sections.flatMap(({ fitted }) =>
      fitted.lines.flatMap(({ steps }) => steps.flatMap((step) => step?.flam ?? [])),
    ),
  );
}

function mostCommon(values: readonly number[]): number | undefined {
  const counts = new Map<number, number>();
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
  return most(counts);
}

function most(counts: ReadonlyMap<number, number>): number | undefined {
  let best: number | undefined;
  for (const [value, count] of counts)
    if (best === undefined || count > (counts.get(best) as number)) best = value;
  return best;
}
