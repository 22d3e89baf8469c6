/** Reads one module: its kind, its settings and the jacks that these give it. */

import type {
  AnyValues,
  Definition,
  FormerSettings,
  Jack,
  NumberSpec,
  Recorded,
  RecordingSpec,
  ScoreSpec,
  SettingSpec,
} from '../modules/definition.ts';
import { readKind } from './kind.ts';
import type { Dial, PatchModule } from './patch.ts';
import { DIAL } from './rack/dial.ts';
import { readScore, type TempoFault } from './score/read-score.ts';
import { readRow, readRows } from './score/row.ts';
import { isScoreSpec, readSetting } from './settings.ts';
import { type Entry, entryOf, mapOf, textOf } from './text/nodes.ts';
import type { Place } from './text/place.ts';
import type { Rewrite } from './text/problem.ts';
import { quoted, type Report } from './text/report.ts';
import { type WrittenModule, wordsOfNode } from './words.ts';

/** What cables need to know of a module. */
export interface KnownJacks {
  readonly jacks: readonly Jack[];
  /** False if a fault may have cost the module jacks: a jack it does not have is then no fault. */
  readonly sure: boolean;
  /** Absent if its kind is not known. */
  readonly definition?: Definition;
  /** The present names of its jacks by those that earlier files have for them. */
  readonly renamed?: { readonly [jack: string]: string };
  /** What is wrong with its score at its own tempo, which is nothing where it has its time from elsewhere. */
  readonly atOwnTempo?: readonly TempoFault[];
}

/** A module whose kind is not known, so that any jack of it may be right. */
export const UNSURE: KnownJacks = { jacks: [], sure: false };

/** What reading a module needs beside its own text. */
export interface Around {
  readonly kinds: readonly Definition[];
  /** Reads the file that a setting names; undefined, and reported, if there is nothing to play. */
  readonly recordings: (entry: Entry) => Recorded | undefined;
}

/**
 * Reads a module.
 * @param name its name in the patch, with that of its part.
 * @returns the module with fallbacks for what is wrong, or undefined if its kind is not known.
 */
export function readModule(
  entry: Entry,
  name: string,
  { kinds, recordings }: Around,
  report: Report,
): (PatchModule & KnownJacks) | undefined {
  const map = mapOf(entry, 'a kind and its settings, such as { kind: noise }', report);
  if (!map) return undefined;
  const definition = readKind(entry, map, kinds, report);
  if (!definition) return undefined;
  const given = map.entries.filter(({ key }) => key !== 'kind' && key !== 'unit');
  const { values, faulty, dials, written, isFormer, atOwnTempo } = readSettings(
    entry,
    given,
    definition,
    recordings,
    report,
  );
  const unitEntry = entryOf(map, 'unit');
  const unit = unitEntry && textOf(unitEntry, 'the name of a unit of the rack', report);
  const sure = !faulty.some((key) => mayChangeJacks(key, definition, values));
  const places = new Map<string, Place>();
  for (const { key, at, value } of given) {
    if (Object.hasOwn(definition.settings, key))
      places.set(key, value.type === 'text' ? value.place : at);
  }
  // A fallback, in place of a wrong value or a dial's position, clashes with nothing.
  const clashes = faulty.length + dials.size > 0 ? [] : (definition.clashes?.(values) ?? []);
  for (const { setting, message, expected } of clashes)
    report.add('range', places.get(setting) ?? entry.at, message, { expected });
  return {
    name,
    definition,
    settings: values,
    jacks: definition.jacks(values),
    place: entry.at,
    settingPlaces: places,
    written,
    ...(unit && { unit: { name: unit.text, place: unit.place } }),
    ...(dials.size > 0 && { dials }),
    ...(atOwnTempo.length > 0 && { atOwnTempo }),
    sure,
    // A row that cannot be read may have the name.
    ...((sure || isFormer) && definition.former?.jacks && { renamed: definition.former.jacks }),
  };
}

interface ReadSettings {
  readonly values: AnyValues;
  /** Names of the settings that are not what the file meant. */
  readonly faulty: readonly string[];
  /** Settings given as positions of a dial; their values are fallbacks until a rack is there. */
  readonly dials: ReadonlyMap<string, Dial>;
  readonly written: WrittenModule;
  /** Whether the file has settings of earlier versions. */
  readonly isFormer: boolean;
  readonly atOwnTempo: readonly TempoFault[];
}

function readSettings(
  module: Entry,
  given: readonly Entry[],
  definition: Definition,
  recordings: Around['recordings'],
  report: Report,
): ReadSettings {
  const { settings } = definition;
  const names = Object.keys(settings);
  const byName = new Map(given.map((entry) => [entry.key, entry]));
  const former = (definition.former?.settings ?? []).filter((one) =>
    one.names.some((name) => byName.has(name)),
  );
  const faulty = former.map(({ now }) => now);
  for (const one of former) reportFormer(module, byName, one, report);
  for (const { key, at } of given) {
    if (Object.hasOwn(settings, key) || former.some((one) => one.names.includes(key))) continue;
    const message = `${quoted(definition.kind)} has no setting ${quoted(key)}`;
    report.unknown('unknown-key', at, message, key, names);
    // The slip is most likely in one of the settings that the file does not give.
    for (const name of names) if (!byName.has(name)) faulty.push(name);
  }
  const values: { [name: string]: unknown } = {};
  const dials = new Map<string, Dial>();
  const words = new Map<string, string>();
  const rowWords = new Map<string, string>();
  let atOwnTempo: readonly TempoFault[] = [];
  let written: WrittenModule = { settings: words, rows: rowWords, patterns: [], song: [] };
  const readValue = (
    entry: Entry,
    spec: Exclude<SettingSpec, RecordingSpec | ScoreSpec>,
  ): unknown => {
    if (spec.type === 'row') return readRow(entry, spec, report);
    if (spec.type !== 'rows') return readSetting(entry, spec, report);
    return readRows(entry, spec, jacksWithout(definition), report);
  };
  for (const [name, spec] of Object.entries(settings)) {
    if (isScoreSpec(spec)) continue;
    const entry = byName.get(name);
    if (entry) words.set(name, wordsOfNode(entry.value));
    if (spec.type === 'rows' && entry?.value.type === 'map')
      for (const row of entry.value.entries)
        rowWords.set(`${name}.${row.key}`, wordsOfNode(row.value));
    const dial = entry && dialOf(entry, spec);
    if (dial !== undefined) {
      dials.set(name, dial);
      values[name] = (spec as NumberSpec).fallback;
      continue;
    }
    if (spec.type === 'recording') {
      if (entry === undefined)
        report.add('missing', module.at, `${quoted(module.key)} has no ${name}`, {
          expected: `${name}: sounds/knock.wav, a WAV file in the patch's folder`,
        });
      values[name] = (entry && recordings(entry)) ?? spec.fallback;
      continue;
    }
    const value = entry && readValue(entry, spec);
    if (entry && value === undefined) faulty.push(name);
    values[name] = value ?? spec.fallback;
  }
  if (definition.role === 'score') {
    const before = report.count;
    const known = Object.fromEntries(
      Object.entries(values).filter(([name]) => !faulty.includes(name)),
    );
    const ownJacks = definition.jacks({ ...values, channels: [], patterns: [], song: [] });
    const { score, patterns, song, ...rest } = readScore(
      module,
      {
        channels: byName.get('channels'),
        patterns: byName.get('patterns'),
        song: byName.get('song'),
        notes: byName.get('notes'),
      },
      ownJacks.map((jack) => jack.name),
      settings,
      known,
      report,
    );
    Object.assign(values, score);
    atOwnTempo = rest.atOwnTempo;
    written = { settings: words, rows: rowWords, patterns, song };
    if (report.count > before && score.channels.length === 0) faulty.push('channels');
  }
  return { values, faulty, dials, written, isFormer: former.length > 0, atOwnTempo };
}

/** Names of the jacks that a module of the kind has without any row. */
function jacksWithout({ settings, jacks }: Definition): readonly string[] {
  const fallbacks = Object.entries(settings).map(([name, spec]) => [
    name,
    'fallback' in spec && spec.type !== 'rows' ? spec.fallback : [],
  ]);
  return jacks(Object.fromEntries(fallbacks)).map(({ name }) => name);
}

/** Reports settings of earlier versions and what to write instead, once for all that one setting has replaced. */
function reportFormer(
  module: Entry,
  byName: ReadonlyMap<string, Entry>,
  { names, now, write }: FormerSettings,
  report: Report,
): void {
  const given = names.flatMap((name) => byName.get(name) ?? []);
  const [first] = given as [Entry];
  const words = new Map([...byName].map(([name, entry]) => [name, wordsOfNode(entry.value)]));
  const settings = given.map(({ key }) => key);
  const listed = settings.map(quoted).join(' and ');
  const texts = settings.some((name) => words.get(name) === '') ? [] : write(words);
  // What a part or the command line sets is not written there.
  const isOwn = given.every(({ at }) => at.file === module.at.file) && !byName.has(now);
  const rewrite: Rewrite | undefined =
    texts.length > 0 && isOwn
      ? { type: 'replace-settings', place: module.at, settings, texts }
      : undefined;
  const message = `${listed} ${given.length === 1 ? 'is' : 'are'} written as ${quoted(now)} now`;
  const expected = texts.length > 0 ? texts.join(', ') : undefined;
  report.add('unknown-key', first.at, message, { expected, rewrite });
}

/** `dial 3.4`, where the setting is a number. */
function dialOf({ value }: Entry, spec: SettingSpec): Dial | undefined {
  const match = value.type === 'text' && 'max' in spec ? DIAL.exec(value.text.trim()) : null;
  return match ? { position: Number(match[1]), place: value.place } : undefined;
}

/** Whether another value of the setting would give the module other jacks. */
function mayChangeJacks(name: string, definition: Definition, values: AnyValues): boolean {
  const spec = definition.settings[name] as SettingSpec;
  const names = (value: unknown): string =>
    definition
      .jacks({ ...values, [name]: value })
      .map((jack) => `${jack.direction} ${jack.name}`)
      .join();
  const others = (): readonly unknown[] => {
    switch (spec.type) {
      case 'channels':
        return [[], [{ name: 'x' }]];
      case 'choice':
        return spec.options;
      case 'flag':
        return [true, false];
      case 'count':
        return [spec.min, spec.max];
      case 'rows':
        return [[], [{ name: 'x', values: spec.row.fallback }]];
      default:
        return [];
    }
  };
  const [first, ...rest] = others().map(names);
  return rest.some((one) => one !== first);
}
