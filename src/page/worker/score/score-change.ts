/**
 * Changes of what a rhythm plays: the attributes of a pattern, a line, a step or an entry of the song,
 * and the order of the song.
 */

import type { SongEntry } from '../../../modules/score.ts';
import type { Edit } from '../../../patch/edit/edit.ts';
import { changedList } from '../../../patch/edit/list-change.ts';
import { WrittenValues } from '../../../patch/edit/written.ts';
import type { KeptTrees } from '../../../patch/fragment.ts';
import type { Patch, PatchModule } from '../../../patch/patch.ts';
import { parseSetting } from '../../../patch/settings.ts';
import { describeFault } from '../../../patch/text/describe.ts';
import type { PatchTexts } from '../../../patch/texts.ts';
import type { Words } from '../../../patch/words.ts';
import { rhythmSettings } from '../../../timing/rhythm.ts';
import type { PatchChange, ScorePlace } from '../../protocol.ts';
import { wordSpecs } from '../words.ts';
import { type Changed, write } from '../write.ts';
import { writtenLine } from './lines.ts';

/** Sets an attribute of a place of the score, or removes it. */
export function changeWord(
  files: PatchTexts,
  module: PatchModule,
  { at, word, text }: Extract<PatchChange, { type: 'word' }>,
  kept: KeptTrees,
): Changed {
  const { name, definition } = module;
  if (definition.role !== 'score') return { refused: `"${name}" plays no patterns` };
  const lacking = lackOf(module, at);
  if (lacking !== undefined) return { refused: lacking };
  const value = text.trim().replace(/\s+/g, ' ');
  if (at.type === 'entry' && word === 'pattern') return changeEntry(files, module, at, value, kept);
  const spec = wordSpecs(definition.settings)[at.type].get(word);
  if (spec === undefined) return { refused: `there is no "${word}" here` };
  if (value !== '') {
    const { fault } = parseSetting(value, spec, word);
    if (fault !== undefined) return { refused: describeFault(fault) };
  }
  const values = new WrittenValues(files.texts[files.main] ?? '');
  const file = files.main;
  if (at.type === 'entry') {
    const written = listedSong(module, values, file);
    const path = ['modules', name, 'song', String(at.entry), word];
    const edit: Edit =
      value === ''
        ? { type: 'remove-value', file, path, stays: path.length }
        : { type: 'set-value', file, path, text: value };
    return write(
      files,
      {
        edits: [...written, edit],
        sets: [`${name}.song`],
        holds: (patch) => isSaid(sayingsAt(patch, name, at)?.get(word), word, value),
      },
      kept,
    );
  }
  const line =
    at.type === 'pattern' ? undefined : writtenLine(values, name, at.pattern, at.channel);
  const way = ['modules', name, 'patterns', at.pattern];
  const linePath = at.type === 'pattern' ? way : [...way, at.channel];
  const path =
    at.type === 'step' ? [...linePath, 'at', String(at.step), word] : [...linePath, word];
  // A line that comes from another pattern is first written here, with all its attributes.
  const copied: readonly Edit[] =
    line === undefined || line.isOwn
      ? []
      : [{ type: 'set-value', file, path: linePath, text: copyOf(line) }];
  if (value === '' && copied.length === 0 && values.at(path) === undefined)
    return { refused: `${placeWords(at)} says no ${word} of its own` };
  return write(
    files,
    {
      edits: [
        ...copied,
        value === ''
          ? { type: 'remove-value', file, path, stays: linePath.length - 1 }
          : { type: 'set-value', file, path, text: value },
      ],
      sets: [path.slice(1).join('.')],
      // After a removal, the value of the pattern that this one starts from may apply.
      holds: (patch) => value === '' || isSaid(sayingsAt(patch, name, at)?.get(word), word, value),
    },
    kept,
  );
}

/** Another pattern for an entry of the song. */
function changeEntry(
  files: PatchTexts,
  module: PatchModule,
  { entry }: Extract<ScorePlace, { type: 'entry' }>,
  pattern: string,
  kept: KeptTrees,
): Changed {
  const { name } = module;
  const known = unknownPattern(module, pattern);
  if (known !== undefined) return { refused: known };
  const values = new WrittenValues(files.texts[files.main] ?? '');
  const written = listedSong(module, values, files.main);
  const path = ['modules', name, 'song', String(entry)];
  const isName = written.length > 0 ? false : values.at(path)?.text !== undefined;
  const names = namesOf(module).with(entry, pattern);
  const edit: Edit = {
    type: 'set-value',
    file: files.main,
    path: isName ? path : [...path, 'pattern'],
    text: pattern,
  };
  return write(
    files,
    { edits: [...written, edit], sets: [`${name}.song`], holds: playing(name, names) },
    kept,
  );
}

/** Reorders entries of the song, removes one or adds one. */
export function changeSong(
  files: PatchTexts,
  module: PatchModule,
  { edit }: Extract<PatchChange, { type: 'song' }>,
  kept: KeptTrees,
): Changed {
  const { name, definition } = module;
  if (definition.role !== 'score') return { refused: `"${name}" plays no patterns` };
  const before = namesOf(module);
  const pattern = edit.type === 'insert' ? edit.pattern : '';
  const unknown = edit.type === 'insert' ? unknownPattern(module, pattern) : undefined;
  if (unknown !== undefined) return { refused: unknown };
  if (edit.type === 'remove' && before.length === 1)
    return { refused: 'a song has at least one entry: put another one in first' };
  const change = edit.type === 'insert' ? { type: edit.type, at: edit.at, text: pattern } : edit;
  const values = new WrittenValues(files.texts[files.main] ?? '');
  const list: Edit = {
    type: 'change-list',
    file: files.main,
    path: ['modules', name, 'song'],
    change,
  };
  return write(
    files,
    {
      edits: [...listedSong(module, values, files.main), list],
      sets: [`${name}.song`],
      holds: playing(name, changedList(before, change, pattern)),
    },
    kept,
  );
}

/** Why a place cannot have attributes, if it cannot. */
function lackOf({ settings }: PatchModule, at: ScorePlace): string | undefined {
  const { patterns, channels, song } = rhythmSettings(settings);
  if (at.type === 'entry')
    return song[at.entry] === undefined
      ? `the song has no entry ${at.entry + 1}, only ${song.length}`
      : undefined;
  const pattern = patterns.find(({ name }) => name === at.pattern);
  if (pattern === undefined) return `there is no pattern "${at.pattern}"`;
  if (at.type === 'pattern') return undefined;
  const index = channels.findIndex(({ name }) => name === at.channel);
  if (index < 0) return `there is no channel "${at.channel}"`;
  const line = pattern.lines.find(({ channel }) => channel === index);
  if (line === undefined)
    return `${at.channel} rests in ${at.pattern}: write a stroke first, of which something can be said`;
  if (at.type === 'line') return undefined;
  const step = line.steps[at.step - 1];
  if (step === undefined) return `there is no step ${at.step}, only ${line.steps.length}`;
  return step.strokes === 0
    ? `step ${at.step} is a rest: write a stroke there first, of which something can be said`
    : undefined;
}

function placeWords(at: ScorePlace): string {
  switch (at.type) {
    case 'pattern':
      return at.pattern;
    case 'line':
      return `${at.channel} in ${at.pattern}`;
    case 'step':
      return `step ${at.step} of ${at.channel} in ${at.pattern}`;
    case 'entry':
      return `entry ${at.entry + 1}`;
  }
}

/** The attributes of a place, its own or from the pattern that it starts from, as the file writes them. */
function sayingsAt({ modules }: Patch, module: string, at: ScorePlace): Words | undefined {
  const found = modules.find(({ name }) => name === module);
  if (found === undefined) return undefined;
  const { patterns, channels, song } = rhythmSettings(found.settings);
  if (at.type === 'entry') {
    const repeats = song[at.entry]?.repeats ?? 1;
    const words: Words = found.written?.song[at.entry] ?? new Map();
    return repeats === 1 ? words : new Map([...words, ['repeats', String(repeats)]]);
  }
  const index = patterns.findIndex(({ name }) => name === at.pattern);
  const written = found.written?.patterns[index];
  if (at.type === 'pattern') return written?.words;
  const channel = channels.findIndex(({ name }) => name === at.channel);
  const place = patterns[index]?.lines.findIndex((line) => line.channel === channel) ?? -1;
  const line = written?.lines[place];
  return at.type === 'line' ? line?.words : line?.at.get(at.step);
}

/** Whether a place has a value of an attribute; an empty value stands for no attribute. */
function isSaid(said: string | undefined, word: string, value: string): boolean {
  if (word === 'repeats') return Number(said ?? 1) === Number(value || 1);
  return (said ?? '') === value;
}

function copyOf({
  tab,
  others,
}: {
  readonly tab: string;
  readonly others: readonly string[];
}): string {
  return `{ ${[`steps: ${JSON.stringify(tab)}`, ...others].join(', ')} }`;
}

function unknownPattern({ settings }: PatchModule, pattern: string): string | undefined {
  const { patterns } = rhythmSettings(settings);
  return patterns.some(({ name }) => name === pattern)
    ? undefined
    : `there is no pattern "${pattern}"`;
}

/** The patterns of the song's entries. */
function namesOf({ settings }: PatchModule): readonly string[] {
  const { patterns, song } = rhythmSettings(settings);
  return song.map(({ pattern }) => patterns[pattern]?.name ?? '');
}

function playing(module: string, names: readonly string[]): (patch: Patch) => boolean {
  return ({ modules }) => {
    const found = modules.find(({ name }) => name === module);
    return found !== undefined && namesOf(found).join(' ') === names.join(' ');
  };
}

/** Writes the song as a list, if the file has none or the command line gives another. */
function listedSong(module: PatchModule, values: WrittenValues, file: string): readonly Edit[] {
  const { name, settings, written } = module;
  const path = ['modules', name, 'song'];
  const { song } = rhythmSettings(settings);
  const names = namesOf(module);
  const isThere = names.every((pattern, entry) => {
    const value = values.at([...path, String(entry)]);
    return (value?.text ?? value?.entries?.get('pattern')) === pattern;
  });
  if (isThere && values.at([...path, String(names.length)]) === undefined) return [];
  const entries = song.map((entry, at) => entryText(entry, names[at] ?? '', written?.song[at]));
  return [{ type: 'set-value', file, path, text: `[${entries.join(', ')}]` }];
}

function entryText({ repeats }: SongEntry, pattern: string, words: Words = new Map()): string {
  const own = [...words].map(([key, value]) => `${key}: ${value}`);
  if (repeats === 1 && own.length === 0) return pattern;
  const times = repeats === 1 ? [] : [`repeats: ${repeats}`];
  return `{ ${[`pattern: ${pattern}`, ...times, ...own].join(', ')} }`;
}
