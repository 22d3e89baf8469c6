/** Reads a rack: what one owns, as measured. Text in, a checked rack or everything wrong with it out. */

import type {
  AnyValues,
  Definition,
  Jack,
  NumberSpec,
  SettingSpec,
  Size,
} from '../../modules/definition.ts';
import { readKind } from '../kind.ts';
import { readSetting } from '../settings.ts';
import { checkName, type Entry, entryOf, type MapNode, mapOf, textOf } from '../text/nodes.ts';
import type { Place } from '../text/place.ts';
import { quoted, type Report } from '../text/report.ts';
import { sourceOf } from '../text/source.ts';
import { readYaml } from '../text/yaml.ts';
import { type PlainSpec, parseValue } from '../units.ts';
import { type Words, wordsOfNode } from '../words.ts';
import type { DialPoint, DialTable } from './dial.ts';
import { type MeasuredFacts, readMeasured } from './jacks.ts';

/** A rack, read and checked: what one owns, as measured. */
export interface Rack {
  readonly file: string;
  readonly title: string;
  readonly about: string;
  /** How many cables there are; undefined where the rack does not say, and they are not counted. */
  readonly cables?: number;
  /** In the order of the file. */
  readonly units: readonly Unit[];
}

/** One sort of module that one owns, once or several times. */
export interface Unit {
  readonly name: string;
  readonly definition: Definition;
  readonly count: number;
  readonly place: Place;
  /** Settings that it has no knob for, with the values that they have on it. */
  readonly fixed: AnyValues;
  /** How the rack writes them. */
  readonly fixedWords: Words;
  /** How many it has of what its kind counts, such as `rows`; what is not in it is not counted. */
  readonly has: ReadonlyMap<string, number>;
  /** What was measured at its jacks, by jack; `inputs` and `outputs` stand for all of them. */
  readonly jacks: ReadonlyMap<string, MeasuredFacts>;
  /** By setting. */
  readonly dials: ReadonlyMap<string, DialTable>;
}

const RACK_KEYS = ['title', 'about', 'cables', 'units'];
export const UNIT_KEYS = ['kind', 'about', 'count', 'has', 'fixed', 'jacks', 'dials'];
const MAX_UNITS = 500;
export const COUNT: NumberSpec = {
  type: 'count',
  min: 1,
  max: 200,
  fallback: 1,
  about: 'How many of it there are.',
};
export const CABLE_COUNT: NumberSpec = {
  type: 'count',
  min: 0,
  max: 10_000,
  fallback: 20,
  about: 'How many patch cables there are.',
};

/**
 * Reads a rack file; every fault is reported, and the sound units are returned.
 * @param isWhole false for facts that are to go into another rack, which alone tells what they would contradict.
 * @returns undefined when the text holds nothing that could be a rack.
 */
export function rackFrom(
  file: string,
  text: string,
  kinds: readonly Definition[],
  report: Report,
  isWhole = true,
): Rack | undefined {
  const before = report.count;
  const tree = readYaml(sourceOf(file, text), report);
  if (tree?.type !== 'map') {
    if (report.count > before) return undefined;
    const place = tree?.place ?? { file, line: 1, column: 1, length: 1 };
    const message = tree === undefined ? 'the file is empty' : `this is a ${tree.type}, not a rack`;
    report.add('wrong-type', place, message, { expected: 'keys such as title, cables and units' });
    return undefined;
  }
  for (const { key, at } of tree.entries)
    if (!RACK_KEYS.includes(key) && (isWhole || key !== 'rack'))
      report.unknown('unknown-key', at, `a rack has no ${quoted(key)}`, key, RACK_KEYS);
  const cables = numberIn(tree, 'cables', CABLE_COUNT, report);
  const units = entryOf(tree, 'units');
  if (units === undefined) {
    report.add('missing', { ...tree.place, length: 1 }, 'the rack has no units', {
      expected: 'units: { hiss: { kind: noise } }',
    });
  }
  const map = units && mapOf(units, 'a map of units, such as { hiss: { kind: noise } }', report);
  if (map !== undefined && map.entries.length > MAX_UNITS && units !== undefined)
    report.add('too-big', units.at, `more than ${MAX_UNITS} units`);
  return {
    file,
    title: textIn(tree, 'title', report),
    about: textIn(tree, 'about', report),
    ...(cables !== undefined && { cables }),
    units: (map?.entries.slice(0, MAX_UNITS) ?? []).flatMap(
      (entry) => readUnit(entry, kinds, report, isWhole) ?? [],
    ),
  };
}

function readUnit(
  entry: Entry,
  kinds: readonly Definition[],
  report: Report,
  isWhole: boolean,
): Unit | undefined {
  checkName(entry.key, entry.at, report);
  const map = mapOf(entry, 'a kind and what is known of it, such as { kind: noise }', report);
  if (!map) return undefined;
  for (const { key, at } of map.entries)
    if (!UNIT_KEYS.includes(key))
      report.unknown('unknown-key', at, `a unit has no ${quoted(key)}`, key, UNIT_KEYS);
  const definition = readKind(entry, map, kinds, report);
  if (!definition) return undefined;
  textIn(map, 'about', report);
  const { fixed, words } = readFixed(map, definition, report);
  return {
    name: entry.key,
    definition,
    count: numberIn(map, 'count', COUNT, report) ?? COUNT.fallback,
    place: entry.at,
    fixed,
    fixedWords: words,
    has: readSizes(map, definition, report),
    jacks: readMeasured(map, definition, jacksWith(definition, fixed), report, isWhole),
    dials: readDials(map, definition, fixed, report),
  };
}

/** The jacks that a kind has with some settings given and the others at their fallbacks. */
export function jacksWith(definition: Definition, given: AnyValues): readonly Jack[] {
  const fallbacks = Object.entries(definition.settings).map(([name, spec]) => [
    name,
    'fallback' in spec ? spec.fallback : [],
  ]);
  return definition.jacks({ ...Object.fromEntries(fallbacks), ...given });
}

/** The spec of a setting that is one text in the file; others are the patch's alone. */
export function plainSpecOf(definition: Definition, name: string): PlainSpec | undefined {
  const spec: SettingSpec | undefined = Object.hasOwn(definition.settings, name)
    ? definition.settings[name]
    : undefined;
  return spec !== undefined &&
    'fallback' in spec &&
    spec.type !== 'row' &&
    spec.type !== 'rows' &&
    spec.type !== 'recording'
    ? spec
    : undefined;
}

/** Names of the settings that a rack may speak of. */
export function plainNames(definition: Definition): readonly string[] {
  return Object.keys(definition.settings).filter((name) => plainSpecOf(definition, name));
}

function readFixed(
  map: MapNode,
  definition: Definition,
  report: Report,
): { readonly fixed: AnyValues; readonly words: Words } {
  const entry = entryOf(map, 'fixed');
  const settings = entry && mapOf(entry, 'settings such as { trigger: switch }', report);
  const fixed: { [name: string]: unknown } = {};
  const words = new Map<string, string>();
  for (const one of settings?.entries ?? []) {
    const spec = settingOf(one, definition, report);
    const value = spec && readSetting(one, spec, report);
    if (value === undefined) continue;
    fixed[one.key] = value;
    words.set(one.key, wordsOfNode(one.value));
  }
  return { fixed, words };
}

/** How many there may be of something that a unit has: the spec of it, for reader and schema. */
export function sizeSpec({ about, most }: Size<AnyValues>): NumberSpec {
  return { type: 'count', min: 1, max: most, fallback: 1, about };
}

function readSizes(
  map: MapNode,
  definition: Definition,
  report: Report,
): ReadonlyMap<string, number> {
  const has = new Map<string, number>();
  const entry = entryOf(map, 'has');
  const sizes = definition.sizes ?? {};
  const known = Object.keys(sizes);
  const said = entry && mapOf(entry, 'how many it has, such as { rows: 2, steps: 16 }', report);
  for (const { key, at } of said?.entries ?? []) {
    const size = Object.hasOwn(sizes, key) ? sizes[key] : undefined;
    if (size === undefined) {
      const message = `a ${quoted(definition.kind)} has no count of ${quoted(key)}`;
      report.unknown('unknown-key', at, message, key, known);
      continue;
    }
    const value = said && numberIn(said, key, sizeSpec(size), report);
    if (value !== undefined) has.set(key, value);
  }
  return has;
}

function settingOf(entry: Entry, definition: Definition, report: Report): PlainSpec | undefined {
  const spec = plainSpecOf(definition, entry.key);
  if (spec === undefined) {
    const message = `${quoted(definition.kind)} has no setting ${quoted(entry.key)}`;
    report.unknown('unknown-key', entry.at, message, entry.key, plainNames(definition));
  }
  return spec;
}

const DIAL_RULE = 'positions and values, such as { 0: 2 ms, 5: 120 ms, 10: 10 s }';

function readDials(
  map: MapNode,
  definition: Definition,
  fixed: AnyValues,
  report: Report,
): ReadonlyMap<string, DialTable> {
  const dials = new Map<string, DialTable>();
  const entry = entryOf(map, 'dials');
  const settings = entry && mapOf(entry, `settings, each with ${DIAL_RULE}`, report);
  for (const one of settings?.entries ?? []) {
    const spec = settingOf(one, definition, report);
    if (spec === undefined) continue;
    if (!('max' in spec)) {
      report.add('wrong-type', one.at, `${quoted(one.key)} is no number, so it has no dial table`);
      continue;
    }
    if (Object.hasOwn(fixed, one.key)) {
      report.add('duplicate', one.at, `${quoted(one.key)} is fixed, so it has no dial`);
      continue;
    }
    const points = readPoints(one, spec, report);
    if (points !== undefined) dials.set(one.key, { quantity: spec.type, points });
  }
  return dials;
}

function readPoints(
  entry: Entry,
  spec: NumberSpec,
  report: Report,
): readonly DialPoint[] | undefined {
  const before = report.count;
  const found: (DialPoint & { readonly at: Place })[] = [];
  for (const one of mapOf(entry, DIAL_RULE, report)?.entries ?? []) {
    const position = /^[-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)$/.test(one.key)
      ? Number(one.key)
      : Number.NaN;
    if (Number.isNaN(position)) {
      report.add('wrong-type', one.at, `${quoted(one.key)} is not the position of a dial`, {
        expected: 'a plain number, such as 5 or 3.4',
      });
      continue;
    }
    const twin = found.find((point) => point.position === position);
    if (twin !== undefined) {
      const line = twin.at.line;
      report.add('duplicate', one.at, `position ${position} is there already, on line ${line}`);
      continue;
    }
    const value = readSetting({ ...one, key: entry.key }, spec, report);
    if (value !== undefined) found.push({ position, value: value as number, at: one.at });
  }
  if (report.count > before) return undefined;
  if (found.length < 2) {
    report.add(
      'range',
      entry.at,
      `the dial table of ${quoted(entry.key)} has fewer than two positions`,
      {
        expected: DIAL_RULE,
      },
    );
    return undefined;
  }
  const points = found.sort((a, b) => a.position - b.position);
  const rises = (points[1]?.value ?? 0) > (points[0]?.value ?? 0);
  const turn = points.findIndex((point, index) => {
    const last = points[index - 1];
    return last !== undefined && (rises ? point.value <= last.value : point.value >= last.value);
  });
  if (turn < 0) return points.map(({ position, value }) => ({ position, value }));
  const wrong = points[turn] as { readonly at: Place };
  report.add('range', wrong.at, `the dial table of ${quoted(entry.key)} contradicts itself here`, {
    expected: 'values that rise, or fall, from each position to the next',
  });
  return undefined;
}

function numberIn(map: MapNode, key: string, spec: NumberSpec, report: Report): number | undefined {
  const entry = entryOf(map, key);
  const node = entry && textOf(entry, 'a whole number', report);
  if (!node) return undefined;
  const reading = parseValue(node.text, spec, key);
  if (!reading.fault) return reading.value;
  report.add(reading.fault.code, node.place, reading.fault.message, reading.fault);
  return undefined;
}

function textIn(map: MapNode, key: string, report: Report): string {
  const entry = entryOf(map, key);
  return (entry && textOf(entry, 'a text', report)?.text) ?? '';
}
