/** Reads the patterns of a rhythm, each perhaps starting from another. */

import type { NumberSpec, Settings } from '../../modules/definition.ts';
import type { Channel, Feel, Line, Pattern } from '../../modules/score.ts';
import { readSetting } from '../settings.ts';
import { checkName, type Entry, entryOf, type MapNode, mapOf, textOf } from '../text/nodes.ts';
import type { Place } from '../text/place.ts';
import { quoted, type Report } from '../text/report.ts';
import type { PlainSpec } from '../units.ts';
import { type Words, type WrittenPattern, wordsIn } from '../words.ts';
import { type ReadLine, readLine } from './line.ts';

export const MAX_PATTERNS = 1000;
/** Settings of the rhythm that a pattern and a song entry may have of their own. */
export const FEEL_WORDS = ['tempo', 'swing', 'chance', 'flam', 'clock'];
/** What else a pattern may say; no channel can have one of these names. */
export const PATTERN_WORDS = [...FEEL_WORDS, 'from', 'steps-per-quarter', 'length'];

export const STEPS_PER_QUARTER: NumberSpec = {
  type: 'count',
  min: 1,
  max: 96,
  fallback: 4,
  about: 'Steps in a quarter note: 4 are sixteenths, 3 and 6 triplets.',
};
export const LENGTH: NumberSpec = {
  type: 'count',
  min: 1,
  max: 1024,
  fallback: 16,
  about: 'Length of the pattern in steps, if not that of its longest line; shorter lines repeat.',
};

/** The patterns of a rhythm and where each one and each of its lines was written. */
export interface PlacedPatterns {
  readonly patterns: readonly Pattern[];
  /** Their names, in the same order. */
  readonly names: readonly string[];
  /** How the file has them, in the same order. */
  readonly written: readonly WrittenPattern[];
  readonly linePlaces: ReadonlyMap<Line, Place>;
}

/** Reads `tempo`, `swing` and the rest where the rhythm has them, by the rhythm's own specs. */
export function readFeel(map: MapNode, settings: Settings, report: Report): Feel {
  const feel: { [word: string]: unknown } = {};
  for (const entry of map.entries) {
    if (!feelWords(settings).includes(entry.key)) continue;
    const value = readSetting(entry, settings[entry.key] as PlainSpec, report);
    if (value !== undefined) feel[entry.key] = value;
  }
  return feel as Feel;
}

/** Those of the shared words that the rhythm has as settings. */
export function feelWords(settings: Settings): readonly string[] {
  return FEEL_WORDS.filter((word) => Object.hasOwn(settings, word));
}

/** A pattern as the file has it, before its length is known. */
interface Draft extends Feel {
  readonly stepsPerQuarter?: number;
  readonly length?: number;
  /** By channel. */
  readonly lines: ReadonlyMap<number, ReadLine>;
  /** What it says besides its lines. */
  readonly words: Words;
  /** Whether something in it was reported, so that what is missing may be no fault. */
  readonly broken: boolean;
}

/**
 * Reads `patterns: { groove: { hat: "x-x-" } }`.
 * @param channels undefined if they could not be read: any name of a line is then taken as right.
 * @returns undefined if there is no telling which patterns there are.
 */
export function readPatterns(
  entry: Entry,
  channels: readonly Channel[] | undefined,
  settings: Settings,
  report: Report,
): PlacedPatterns | undefined {
  const linePlaces = new Map<Line, Place>();
  const map = mapOf(entry, 'patterns such as { groove: { hat: "x-x-X-x-" } }', report);
  if (!map) return undefined;
  const all = map.entries;
  const names = all.map(({ key }) => key);
  if (all.length === 0) report.add('missing', entry.at, 'there is no pattern');
  if (all.length > MAX_PATTERNS) {
    report.add('too-big', entry.at, `more than ${MAX_PATTERNS} patterns`);
    return undefined;
  }

  const byName = new Map(all.map((one) => [one.key, one]));
  const drafts = new Map<string, Draft | 'reading'>();
  /** Reads a pattern after those that it starts from: the first of these has no base, or is known already. */
  const readWithBases = (one: Entry): void => {
    const line: Entry[] = [];
    for (let next: Entry | undefined = one; next !== undefined && !drafts.has(next.key); ) {
      drafts.set(next.key, 'reading');
      line.push(next);
      const from: Entry | undefined =
        next.value.type === 'map' ? entryOf(next.value, 'from') : undefined;
      next = from?.value.type === 'text' ? byName.get(from.value.text) : undefined;
    }
    for (const next of line.toReversed()) drafts.set(next.key, readDraft(next));
  };

  const baseOf = (map: MapNode): Draft | undefined => {
    const from = entryOf(map, 'from');
    const node = from && textOf(from, 'the name of another pattern', report);
    if (!node) return undefined;
    const base = drafts.get(node.text);
    if (base === 'reading') {
      report.add('pattern', node.place, `the pattern ${quoted(node.text)} starts from itself`);
      return undefined;
    }
    if (!base) {
      const message = `there is no pattern ${quoted(node.text)}`;
      report.unknown('unknown-name', node.place, message, node.text, names);
    }
    return base;
  };

  const isOwnWord = (key: string): boolean =>
    key !== 'from' && patternWords(settings).includes(key);

  const readDraft = (one: Entry): Draft => {
    const before = report.count;
    checkName(one.key, one.at, report);
    const own = mapOf(one, 'a map of channels, such as { hat: "x-x-X-x-" }', report);
    if (!own) return { lines: new Map(), words: new Map(), broken: true };
    const base = baseOf(own);
    const lines = new Map(base?.lines);
    for (const line of own.entries) {
      if (PATTERN_WORDS.includes(line.key)) continue;
      const channel = channels?.findIndex(({ name }) => name === line.key) ?? 0;
      if (channels && channel < 0) {
        const legal = [...channels.map(({ name }) => name), ...patternWords(settings)];
        const message = `there is no channel ${quoted(line.key)}`;
        report.unknown('unknown-name', line.at, message, line.key, legal);
        continue;
      }
      const read = readLine(line, channel, settings, report);
      if (read && channels) {
        lines.set(channel, read);
        linePlaces.set(read.line, line.at);
      }
    }
    const stepsPerQuarter = readOwn(own, 'steps-per-quarter', STEPS_PER_QUARTER, report);
    const length = readOwn(own, 'length', LENGTH, report);
    return {
      ...base,
      ...readFeel(own, settings, report),
      ...(stepsPerQuarter !== undefined && { stepsPerQuarter }),
      ...(length !== undefined && { length }),
      lines,
      words: new Map([...(base?.words ?? []), ...wordsIn(own, isOwnWord)]),
      broken: report.count > before || base?.broken === true || !channels,
    };
  };

  for (const one of all) readWithBases(one);
  const patterns = all.map((one): Pattern => {
    const {
      lines,
      words: _,
      stepsPerQuarter,
      length,
      broken,
      ...feel
    } = drafts.get(one.key) as Draft;
    const longest = [...lines.values()]
      .map(({ line }) => line.steps.length)
      .reduce((most, one) => Math.max(most, one), 0);
    if (length === undefined && longest === 0 && !broken) {
      report.add('missing', one.at, `the pattern ${quoted(one.key)} has no line and no length`);
    }
    return {
      ...feel,
      name: one.key,
      stepsPerQuarter: stepsPerQuarter ?? STEPS_PER_QUARTER.fallback,
      length: length ?? Math.max(1, longest),
      lines: inOrder(lines).map(({ line }) => line),
    };
  });
  const written = all.map(({ key }): WrittenPattern => {
    const { lines, words } = drafts.get(key) as Draft;
    return { words, lines: inOrder(lines).map((line) => line.written) };
  });
  return { patterns, names, written, linePlaces };
}

/** By channel. */
function inOrder(lines: ReadonlyMap<number, ReadLine>): readonly ReadLine[] {
  return [...lines.values()].toSorted((a, b) => a.line.channel - b.line.channel);
}

/** The words that a pattern of this rhythm may use. */
function patternWords(settings: Settings): readonly string[] {
  const feel = feelWords(settings);
  return PATTERN_WORDS.filter((word) => !FEEL_WORDS.includes(word) || feel.includes(word));
}

function readOwn(map: MapNode, key: string, spec: NumberSpec, report: Report): number | undefined {
  const entry = entryOf(map, key);
  return entry && (readSetting(entry, spec, report) as number | undefined);
}
