/** Reads what a rhythm sequencer plays: its channels, its patterns and the order of its song. */

import type { AnyValues, Settings } from '../../modules/definition.ts';
import type { Channel, Line, Pattern, Score, SongEntry } from '../../modules/score.ts';
import { readSetting } from '../settings.ts';
import {
  checkName,
  type Entry,
  entryOf,
  listOf,
  type MapNode,
  mapOf,
  textOf,
} from '../text/nodes.ts';
import type { Place } from '../text/place.ts';
import { quoted, type Report } from '../text/report.ts';
import { formatBriefly } from '../units.ts';
import { type Words, type WrittenPattern, wordsIn } from '../words.ts';
import { widestFlam } from './line.ts';
import {
  feelWords,
  PATTERN_WORDS,
  type PlacedPatterns,
  readFeel,
  readPatterns,
} from './pattern.ts';

export const MAX_CHANNELS = 64;
const MAX_SONG = 10_000;
export const REPEATS = {
  type: 'count',
  min: 1,
  max: 999,
  fallback: 1,
  about: 'Times that the pattern is played.',
} as const;

/** Source: MIDI 1.0, a note number has seven bits (from memory). */
export const NOTE = {
  type: 'count',
  min: 0,
  max: 127,
  fallback: 60,
  about: 'Number of the note in a MIDI file; 60 is middle C.',
} as const;

/** The entries of a rhythm module that make its score; absent where the file has none. */
export interface ScoreEntries {
  readonly channels?: Entry | undefined;
  readonly patterns?: Entry | undefined;
  readonly song?: Entry | undefined;
  readonly notes?: Entry | undefined;
}

/**
 * Reads the score of one rhythm; every fault is reported, and what is sound is in the result.
 * @param at the module, for what is missing.
 * @param ownJacks names of the jacks that the rhythm has without any channel.
 * @param values the module's other settings, for the tempo and flam that hold where a pattern has none.
 */
export function readScore(
  at: Entry,
  { channels: channelsEntry, patterns: patternsEntry, song: songEntry, notes }: ScoreEntries,
  ownJacks: readonly string[],
  settings: Settings,
  values: AnyValues,
  report: Report,
): {
  readonly score: Score;
  /** How the file has the patterns and the entries of the song. */
  readonly patterns: readonly WrittenPattern[];
  readonly song: readonly Words[];
  /** What is wrong with the score at its own tempo. */
  readonly atOwnTempo: readonly TempoFault[];
} {
  const lacks = (what: string, expected: string): void =>
    report.add('missing', at.at, `${quoted(at.key)} has no ${what}`, { expected });
  if (!channelsEntry) lacks('channels', 'channels: [hat]');
  if (!patternsEntry) lacks('patterns', 'patterns: { groove: { hat: "x-x-X-x-" } }');
  const named = channelsEntry && readChannels(channelsEntry, ownJacks, report);
  const channels = notes ? readNotes(notes, named, report) : named;
  const patterns = patternsEntry && readPatterns(patternsEntry, channels, settings, report);
  const song = songEntry
    ? readSong(songEntry, patterns, settings, report)
    : (patterns?.patterns ?? []).map((_, pattern): ReadEntry => {
        return { entry: { pattern, repeats: 1 }, words: new Map() };
      });
  const entries = song.map(({ entry }) => entry);
  return {
    score: { channels: channels ?? [], patterns: patterns?.patterns ?? [], song: entries },
    patterns: patterns?.written ?? [],
    song: song.map(({ words }) => words),
    atOwnTempo: patterns ? wideFlams(entries, patterns, values) : [],
  };
}

/** Undefined if a name could not be read, so that references to channels are not reported as well. */
function readChannels(
  entry: Entry,
  ownJacks: readonly string[],
  report: Report,
): readonly Channel[] | undefined {
  const before = report.count;
  const list = listOf(entry, 'a list of names, such as [kick, snare, hat]', report);
  if (!list) return undefined;
  if (list.items.length === 0) report.add('missing', entry.at, 'there is no channel');
  if (list.items.length > MAX_CHANNELS) {
    const message = `${list.items.length} channels`;
    report.add('too-big', entry.at, message, { expected: `at most ${MAX_CHANNELS}` });
    return undefined;
  }
  const taken = new Map<string, string>(
    ownJacks.map((name) => [name, 'is the name of a jack that every rhythm has']),
  );
  for (const word of PATTERN_WORDS) taken.set(word, 'is a word that patterns use');
  const channels: Channel[] = [];
  for (const item of list.items) {
    const node = textOf({ key: 'channels', at: entry.at, value: item }, 'a name', report);
    if (!node || !checkName(node.text, node.place, report)) continue;
    const name = node.text;
    const why =
      taken.get(name) ??
      (taken.has(`${name}-accent`) ? `would have the jack "${name}-accent", which is taken` : '');
    if (why !== '') {
      report.add('duplicate', node.place, `the channel ${quoted(name)} ${why}`);
      continue;
    }
    taken.set(name, 'is there already');
    taken.set(`${name}-accent`, `is the accent jack of the channel "${name}"`);
    channels.push({ name });
  }
  return report.count > before ? undefined : channels;
}

/** Reads `notes: { kick: 36 }` into the channels; undefined where these are. */
function readNotes(
  entry: Entry,
  channels: readonly Channel[] | undefined,
  report: Report,
): readonly Channel[] | undefined {
  const map = mapOf(entry, 'note numbers by channel, such as { kick: 36, snare: 38 }', report);
  const notes = new Map<string, number>();
  for (const one of map?.entries ?? []) {
    if (channels && !channels.some(({ name }) => name === one.key)) {
      const legal = channels.map(({ name }) => name);
      report.unknown(
        'unknown-name',
        one.at,
        `there is no channel ${quoted(one.key)}`,
        one.key,
        legal,
      );
    }
    const note = readSetting(one, NOTE, report) as number | undefined;
    if (note !== undefined) notes.set(one.key, note);
  }
  return channels?.map((channel) => {
    const note = notes.get(channel.name);
    return note === undefined ? channel : { ...channel, note };
  });
}

/** An entry of the song, and what it has of its own as the file writes it. */
interface ReadEntry {
  readonly entry: SongEntry;
  readonly words: Words;
}

function readSong(
  entry: Entry,
  patterns: PlacedPatterns | undefined,
  settings: Settings,
  report: Report,
): readonly ReadEntry[] {
  const list = listOf(entry, 'a list of patterns, such as [groove, groove, fill]', report);
  if (!list) return [];
  if (list.items.length === 0) report.add('missing', entry.at, 'the song is empty');
  if (list.items.length > MAX_SONG) {
    report.add('too-big', entry.at, `more than ${MAX_SONG} entries in the song`);
    return [];
  }
  const indexOf = new Map(patterns?.names.map((name, index) => [name, index]));
  const song: ReadEntry[] = [];
  const push: Push = (name, own, words) => {
    const node = textOf(name, 'the name of a pattern', report);
    if (!node || !patterns) return;
    const pattern = indexOf.get(node.text);
    if (pattern !== undefined) song.push({ entry: { ...own, pattern }, words });
    else {
      const message = `there is no pattern ${quoted(node.text)}`;
      report.unknown('unknown-name', node.place, message, node.text, patterns.names);
    }
  };
  for (const item of list.items) {
    const name = { key: 'song', at: entry.at, value: item };
    if (item.type === 'map') readSongMap(item, settings, push, report);
    else push(name, { repeats: 1 }, new Map());
  }
  return song;
}

type Push = (name: Entry, own: Omit<SongEntry, 'pattern'>, words: Words) => void;

function readSongMap(item: MapNode, settings: Settings, push: Push, report: Report): void {
  const feel = feelWords(settings);
  const legal = ['pattern', 'repeats', ...feel];
  for (const { key, at } of item.entries) {
    if (!legal.includes(key)) {
      report.unknown('unknown-key', at, `there is no ${quoted(key)} here`, key, legal);
    }
  }
  const repeats = entryOf(item, 'repeats');
  const read = repeats && (readSetting(repeats, REPEATS, report) as number | undefined);
  const own = { ...readFeel(item, settings, report), repeats: read ?? 1 };
  const name = entryOf(item, 'pattern');
  if (name)
    push(
      name,
      own,
      wordsIn(item, (key) => feel.includes(key)),
    );
  else report.add('missing', item.place, 'an entry of the song without its pattern');
}

/** A place of the score that does not fit its tempo. */
export interface TempoFault {
  readonly place: Place;
  readonly message: string;
}

/** Flams as long as a step, which would run into the next one. Each line is told once. */
function wideFlams(
  song: readonly SongEntry[],
  { patterns, linePlaces }: PlacedPatterns,
  values: AnyValues,
): readonly TempoFault[] {
  const done = new Set<Line | string>();
  const wide: TempoFault[] = [];
  for (const entry of song) {
    const pattern = patterns[entry.pattern] as Pattern;
    const tempo = entry.tempo ?? pattern.tempo ?? values.tempo;
    const flam = entry.flam ?? pattern.flam ?? values.flam;
    const same = `${entry.pattern} ${tempo} ${flam}`;
    if (typeof tempo !== 'number' || done.has(same)) continue;
    done.add(same);
    const step = 60 / tempo / pattern.stepsPerQuarter;
    for (const line of pattern.lines) {
      const spacing = widestFlam(line, typeof flam === 'number' ? flam : 0);
      const place = linePlaces.get(line);
      if (spacing < step || !place || done.has(line)) continue;
      done.add(line);
      const [long, short] = [spacing, step].map((value) => formatBriefly(value, 'time'));
      wide.push({ place, message: `a flam of ${long} does not fit into a step of ${short}` });
    }
  }
  return wide;
}
