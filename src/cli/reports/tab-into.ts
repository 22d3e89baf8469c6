/** `tab --into`: drum tab written into the patterns of a patch, whose comments and layout stay. */

import { InvalidArgumentError } from 'commander';
import { replaceTexts } from '../../files/whole-file.ts';
import { KINDS } from '../../modules/kinds.ts';
import type { Pattern } from '../../modules/score.ts';
import { notesOf } from '../../output/score/midi-notes.ts';
import { applyEdits, type Edit } from '../../patch/edit/edit.ts';
import { WrittenValues } from '../../patch/edit/written.ts';
import type { Patch, PatchModule } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { nearest, someOf } from '../../patch/text/nearest.ts';
import { loadTexts, withText } from '../../patch/texts.ts';
import type { LineName } from '../../tab/music.ts';
import type { Tab, TabPattern } from '../../tab/transcribe.ts';
import { type RhythmSettings, rhythmSettings } from '../../timing/rhythm.ts';
import { type Stop, wrongFile, wrongRequest } from '../exit.ts';
import { problemsStop, readPart, readSound, readWithTexts } from '../read-patch.ts';
import {
  newPattern,
  oldPattern,
  type PlacedPattern,
  plays,
  type TabbedPattern,
  type TabPlace,
} from './tab-edits.ts';

/** Where the tab goes. */
export interface IntoRequest {
  /** The patch. */
  readonly file: string;
  /** The module; the only rhythm unless given. */
  readonly rhythm?: string | undefined;
  /** The pattern, which may exist. If not given: the patterns of the tab, which must not exist. */
  readonly pattern?: string | undefined;
  /** A bar of the music, counted from 1; all if not given. */
  readonly bar?: number | undefined;
  /** Channels by lines of the tab, empty for a line that is left out. By name and note if not given. */
  readonly lines?: ReadonlyMap<string, string> | undefined;
}

export interface WrittenTab {
  readonly file: string;
  readonly rhythm: string;
  readonly patterns: readonly TabbedPattern[];
  /** Lines of the tab that were left out on request. */
  readonly leftOut: readonly string[];
  /** Whether the file has a song; without one all patterns are played, one after another. */
  readonly hasSong: boolean;
  /** Patterns that start from one that was written, and so change too. */
  readonly following: readonly string[];
  /** Quarter notes a minute, of the music and of the patch. */
  readonly tempo: { readonly played: number; readonly patch: number };
}

/** Reads `hit=snare,clap=`. @throws InvalidArgumentError for a text that is not of that form. */
export function readLines(text: string): ReadonlyMap<string, string> {
  const lines = new Map<string, string>();
  for (const one of text.split(',')) {
    const [line = '', channel, ...more] = one.split('=').map((word) => word.trim());
    if (line === '' || channel === undefined || more.length > 0)
      throw new InvalidArgumentError(
        'A line of the tab and a channel of the patch were expected, such as hit=snare; hit= leaves it out.',
      );
    if (lines.has(line))
      throw new InvalidArgumentError(
        `One channel for each line was expected: ${line} is there twice.`,
      );
    lines.set(line, channel);
  }
  return lines;
}

/** @throws Stop if something is unclear or impossible; then nothing is written. */
export function writeTab(tab: Tab, names: readonly LineName[], request: IntoRequest): WrittenTab {
  const { file } = request;
  if (file === '-')
    throw wrongRequest('--into -: a patch is changed in its place. Give the name of its file.');
  const { patch, texts } = readWithTexts(file, []);
  const text = texts.texts[texts.main] ?? '';
  const module = rhythmOf(patch, request);
  const values = new WrittenValues(text);
  if (values.at(['modules', module.name]) === undefined)
    throw wrongFile(file, `${module.name} is in ${module.place.file}. Give that file with --into.`);
  const settings = rhythmSettings(module.settings);
  const channels = channelsFor(names, settings, request);
  const chosen = chosenOf(tab, request, settings);
  const place: TabPlace = { file, module: module.name, settings, values, channels };
  const placed = chosen.map(({ pattern, name, old }) =>
    old === undefined ? newPattern(pattern, name, place) : oldPattern(pattern, old, place),
  );
  let changed = text;
  for (const edit of placed.flatMap(({ edits }) => edits)) {
    const next = applyEdits(file, changed, [edit]);
    if (next === undefined) throw noPlace(file, edit);
    changed = next;
  }
  const again = loadTexts(withText(texts, changed), readPart, {
    kinds: KINDS,
    loadRecording: readSound,
  });
  if (again.patch === undefined) throw problemsStop(again.problems, again.texts);
  const following = others(patch, again.patch, module.name, placed);
  if (changed !== text) replaceTexts([{ path: file, before: text, after: changed }]);
  return {
    file,
    rhythm: module.name,
    patterns: placed.map(({ edits: _, tab: __, ...written }) => written),
    leftOut: names.flatMap(({ name }, line) => (channels[line] === undefined ? [name] : [])),
    hasSong: values.at(['modules', module.name, 'song']) !== undefined,
    following,
    tempo: { played: tab.bpm, patch: settings.tempo },
  };
}

function rhythmOf({ modules, file }: Patch, { rhythm }: IntoRequest): PatchModule {
  const rhythms = modules.filter(({ definition }) => definition.role === 'score');
  const names = rhythms.map(({ name }) => name);
  const [first] = rhythms;
  if (first === undefined)
    throw wrongFile(file, 'the patch has no rhythm sequencer, so no patterns to write into.');
  if (rhythm === undefined && rhythms.length === 1) return first;
  const found = rhythms.find(({ name }) => name === rhythm);
  if (found !== undefined) return found;
  throw wrongRequest(
    rhythm === undefined
      ? `--into ${file}: it has several rhythms: ${names.join(', ')}. Say which by --rhythm.`
      : `--rhythm ${rhythm}: a rhythm of ${file} was expected: ${names.join(', ')}.`,
  );
}

/** The channel of each line of the tab: as asked, or the one of its name, or the only one of its note. */
function channelsFor(
  names: readonly LineName[],
  { channels }: RhythmSettings,
  { file, lines = new Map() }: IntoRequest,
): readonly (string | undefined)[] {
  const known = channels.map(({ name }) => name);
  for (const [line, channel] of lines) {
    if (!names.some(({ name }) => name === line))
      throw wrongRequest(
        `--lines ${line}=${channel}: there is no line ${line} in the tab, only ${someOf(
          line,
          names.map(({ name }) => name),
          'the tab has them',
        )}.`,
      );
    if (channel !== '' && !known.includes(channel)) throw noChannel(channel, known, file);
  }
  const notes = notesOf(channels);
  const found = names.map(({ name, note }): string | undefined => {
    const asked = lines.get(name);
    if (asked !== undefined || known.includes(name)) return asked ?? name;
    const same = known.filter((_, index) => note !== undefined && notes[index] === note);
    if (same.length === 1) return same[0];
    return names.length === 1 && known.length === 1 ? known[0] : undefined;
  });
  const lost = names.flatMap(({ name }, line) => (found[line] === undefined ? [name] : []));
  const [one] = lost;
  if (one !== undefined)
    throw wrongRequest(
      `--into ${file}: it has no channel ${list(lost)}, only ${someOf(one, known, 'the file has them')}. Say which is meant, such as --lines ${one}=${nearest(one, known) ?? known[0]}; --lines ${one}= leaves it out.`,
    );
  const taken = new Map<string, string>();
  for (const [line, channel] of found.entries()) {
    if (channel === undefined || channel === '') continue;
    const name = names[line]?.name ?? '';
    const other = taken.get(channel);
    if (other !== undefined)
      throw wrongRequest(
        `--into ${file}: both ${other} and ${name} would be ${channel}, and one line holds one of them. Leave one out by --lines ${name}=, or give it another channel.`,
      );
    taken.set(channel, name);
  }
  if (taken.size === 0)
    throw wrongRequest('--lines: all lines are left out, so nothing is written.');
  return found.map((channel) => (channel === '' ? undefined : channel));
}

function noChannel(channel: string, known: readonly string[], file: string): Stop {
  const near = nearest(channel, known);
  return wrongRequest(
    `--lines: ${file} has no channel ${channel}, only ${someOf(channel, known, 'the file has them')}.${near === undefined ? '' : ` Did you mean ${near}?`}`,
  );
}

interface ChosenPattern {
  readonly pattern: TabPattern;
  readonly name: string;
  /** The pattern as the patch has it, if it exists. */
  readonly old: Pattern | undefined;
}

function chosenOf(
  { patterns, bars }: Tab,
  { file, pattern: asked, bar }: IntoRequest,
  settings: RhythmSettings,
): readonly ChosenPattern[] {
  const inBar = bars.filter((one) => bar === undefined || one.bar === bar);
  const names = [...new Set(inBar.map(({ pattern }) => pattern))];
  if (names.length === 0)
    throw wrongRequest(`--bar ${bar}: the music has ${counted(bars.at(-1)?.bar ?? 0, 'bar')}.`);
  if (names.length > 1 && (asked !== undefined || bar !== undefined))
    throw wrongRequest(
      bar === undefined
        ? `--pattern ${asked}: the music is ${names.length} patterns, ${list(names)}. Say by --bar which of its bars is meant.`
        : `--bar ${bar}: it changes within, and is ${names.length} patterns: ${list(names)}. Without --bar and --pattern all are added.`,
    );
  const chosen = patterns
    .filter(({ name }) => names.includes(name))
    .map((pattern): ChosenPattern => {
      const name = asked ?? pattern.name;
      return { pattern, name, old: settings.patterns.find((one) => one.name === name) };
    });
  const there = chosen.flatMap(({ name, old }) => (old === undefined ? [] : [name]));
  if (asked === undefined && there.length > 0)
    throw wrongRequest(
      `--into ${file}: it has ${list(there)} already. To write over one, name it: --pattern ${there[0]}${names.length > 1 ? ' --bar 1' : ''}; any other name makes a new one.`,
    );
  return chosen;
}

function noPlace(file: string, edit: Edit): Stop {
  const what =
    edit.type === 'set-value'
      ? ` Write ${edit.path.slice(1).join('.')}: ${edit.text} by hand.`
      : '';
  return wrongFile(file, `it has no place for this that can be found.${what}`);
}

/**
 * Makes sure that the patch now plays what the tab has.
 * @returns the other patterns that have changed.
 * @throws Stop where it does not.
 */
function others(
  before: Patch,
  after: Patch,
  module: string,
  placed: readonly PlacedPattern[],
): readonly string[] {
  const [old, now] = [before, after].map(({ modules }) => {
    const found = modules.find(({ name }) => name === module);
    return rhythmSettings(found?.settings ?? {});
  }) as [RhythmSettings, RhythmSettings];
  for (const { name, tab } of placed) {
    const pattern = now.patterns.find((one) => one.name === name);
    for (const [channel, line] of tab) {
      const isRight = pattern !== undefined && plays(pattern, channel, line, now);
      if (!isRight)
        throw wrongFile(
          before.file,
          `${channel} in ${name} would not play what was heard: something else in the file decides it. Nothing is written.`,
        );
    }
  }
  return old.patterns.flatMap((pattern) => {
    if (placed.some(({ name }) => name === pattern.name)) return [];
    const same = now.patterns.find(({ name }) => name === pattern.name);
    return JSON.stringify(same) === JSON.stringify(pattern) ? [] : [pattern.name];
  });
}

/** Words for what was written. */
export function writtenText({
  file,
  rhythm,
  patterns,
  leftOut,
  hasSong,
  following,
  tempo,
}: WrittenTab): readonly string[] {
  return [
    `into ${file}, ${rhythm}:`,
    ...patterns.flatMap(({ name, from, isNew, lines, stay }) => [
      `  ${name}${isNew ? ', new' : ''}${from === name ? '' : `, from ${from}`}: ${lines.length === 0 ? 'rests' : list(lines)}`,
      ...(stay.length === 0 ? [] : [`    as it was: ${list(stay)}`]),
    ]),
    ...(patterns.some(({ isNew }) => isNew)
      ? [
          hasSong
            ? `  The song of ${rhythm} is as it was: put new patterns into it where they are to be played.`
            : `  ${rhythm} has no song, so all its patterns are played in their order, the new ones too.`,
        ]
      : []),
    ...(following.length === 0
      ? []
      : [
          `  ${list(following)} ${following.length === 1 ? 'starts' : 'start'} from it, and so change too.`,
        ]),
    ...(leftOut.length === 0 ? [] : [`  left out: ${list(leftOut)}`]),
    ...(tempo.played === tempo.patch
      ? []
      : [`  ${tempo.played} bpm was played; the patch stays at ${tempo.patch} bpm.`]),
  ];
}

function list(words: readonly string[]): string {
  return words.join(', ');
}
