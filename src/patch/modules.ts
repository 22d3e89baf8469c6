/** Reads one module: its kind, its settings and the jacks that these give it. */

import type {
  AnyValues,
  Definition,
  Jack,
  NumberSpec,
  SettingSpec,
} from '../modules/definition.ts';
import type { Dial, PatchModule } from './patch.ts';
import { DIAL } from './rack/dial.ts';
import { readScore } from './score/read-score.ts';
import { readRow } from './score/row.ts';
import { isScoreSpec, readSetting } from './settings.ts';
import { type Entry, entryOf, mapOf, textOf } from './text/nodes.ts';
import type { Place } from './text/place.ts';
import { quoted, type Report } from './text/report.ts';
import { type WrittenModule, wordsOfNode } from './words.ts';

/** What cables need to know of a module. */
export interface KnownJacks {
  readonly jacks: readonly Jack[];
  /** False if a fault may have cost the module jacks: a jack it does not have is then no fault. */
  readonly sure: boolean;
  /** Absent if its kind is not known. */
  readonly definition?: Definition;
}

/** A module whose kind is not known, so that any jack of it may be right. */
export const UNSURE: KnownJacks = { jacks: [], sure: false };

/**
 * Reads a module.
 * @param name its name in the patch, with that of its part.
 * @returns the module with fallbacks for what is wrong, or undefined if its kind is not known.
 */
export function readModule(
  entry: Entry,
  name: string,
  kinds: readonly Definition[],
  report: Report,
): (PatchModule & KnownJacks) | undefined {
  const map = mapOf(entry, 'a kind and its settings, such as { kind: noise }', report);
  if (!map) return undefined;
  const kindEntry = entryOf(map, 'kind');
  if (!kindEntry) {
    report.add('missing', entry.at, `${quoted(entry.key)} has no kind`, {
      expected: 'the kind of module, such as { kind: noise }',
    });
    return undefined;
  }
  const kind = textOf(kindEntry, 'the kind of module', report);
  const definition = kind && kinds.find((one) => one.kind === kind.text);
  if (!definition) {
    if (kind) {
      const legal = kinds.map((one) => one.kind);
      const message = `there is no kind ${quoted(kind.text)}`;
      report.unknown('unknown-kind', kind.place, message, kind.text, legal);
    }
    return undefined;
  }
  const given = map.entries.filter(({ key }) => key !== 'kind' && key !== 'unit');
  const { values, faulty, dials, written } = readSettings(entry, given, definition, report);
  const unitEntry = entryOf(map, 'unit');
  const unit = unitEntry && textOf(unitEntry, 'the name of a unit of the rack', report);
  const places = new Map<string, Place>();
  for (const { key, at, value } of given) {
    if (Object.hasOwn(definition.settings, key))
      places.set(key, value.type === 'text' ? value.place : at);
  }
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
    sure: !faulty.some((key) => mayChangeJacks(key, definition, values)),
  };
}

interface Read {
  readonly values: AnyValues;
  /** Names of the settings that are not what the file meant. */
  readonly faulty: readonly string[];
  /** Settings given as positions of a dial; their values are fallbacks until a rack is there. */
  readonly dials: ReadonlyMap<string, Dial>;
  readonly written: WrittenModule;
}

function readSettings(
  module: Entry,
  given: readonly Entry[],
  definition: Definition,
  report: Report,
): Read {
  const { settings } = definition;
  const names = Object.keys(settings);
  const byName = new Map(given.map((entry) => [entry.key, entry]));
  const faulty: string[] = [];
  for (const { key, at } of given) {
    if (Object.hasOwn(settings, key)) continue;
    const message = `${quoted(definition.kind)} has no setting ${quoted(key)}`;
    report.unknown('unknown-key', at, message, key, names);
    // The slip is most likely in one of the settings that the file does not give.
    for (const name of names) if (!byName.has(name)) faulty.push(name);
  }
  const values: { [name: string]: unknown } = {};
  const dials = new Map<string, Dial>();
  const words = new Map<string, string>();
  let written: WrittenModule = { settings: words, patterns: [], song: [] };
  for (const [name, spec] of Object.entries(settings)) {
    if (isScoreSpec(spec)) continue;
    const entry = byName.get(name);
    if (entry) words.set(name, wordsOfNode(entry.value));
    const dial = entry && dialOf(entry, spec);
    if (dial !== undefined) {
      dials.set(name, dial);
      values[name] = (spec as NumberSpec).fallback;
      continue;
    }
    const value =
      entry &&
      (spec.type === 'row' ? readRow(entry, spec, report) : readSetting(entry, spec, report));
    if (entry && value === undefined) faulty.push(name);
    values[name] = value ?? spec.fallback;
  }
  if (definition.role === 'score') {
    const before = report.count;
    const known = Object.fromEntries(
      Object.entries(values).filter(([name]) => !faulty.includes(name)),
    );
    const ownJacks = definition.jacks({ ...values, channels: [], patterns: [], song: [] });
    const { score, patterns, song } = readScore(
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
    written = { settings: words, patterns, song };
    if (report.count > before && score.channels.length === 0) faulty.push('channels');
  }
  return { values, faulty, dials, written };
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
      default:
        return [];
    }
  };
  const [first, ...rest] = others().map(names);
  return rest.some((one) => one !== first);
}
