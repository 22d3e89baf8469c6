/**
 * What is given from outside a file (`--set`, a part's `set:`), put into its tree as if written there:
 * settings, and the files of parts. What gives an input another source is for `plugs.ts`.
 */

import {
  type Entry,
  entryOf,
  type MapNode,
  type Node,
  type TextNode,
  withEntry,
} from './text/nodes.ts';
import type { Place } from './text/place.ts';
import { quoted, type Report } from './text/report.ts';
import { placeAt, type SourceText, sourceOf } from './text/source.ts';
import { readYaml } from './text/yaml.ts';

/** One setting by its path: `shape.decay`, or `hat.shape.decay` of a part; or an input, `level.in`. */
export interface Override {
  readonly path: readonly string[];
  /** The place of the path, or of one of its pieces. */
  readonly at: Place;
  readonly piece: (index: number) => Place;
  readonly value: Node;
}

/** A file's name rather than a jack's: what a part or a recording is given. */
const FILE = /[/\\]|\.(?:ya?ml|wave?)$/i;
const JACK = /^[A-Za-z][\w-]*(?:\.[A-Za-z][\w-]*)+$/;

/** Whether it gives an input another source, as `bright.in=hiss.pink` does: no setting has such a value. */
export function isPlug({ path, value }: Override): boolean {
  return path.length > 1 && value.type === 'text' && isJackText(value.text);
}

/** Whether a value names a jack. */
export function isJackText(text: string): boolean {
  return JACK.test(text) && !FILE.test(text);
}

/** The file name in the places of what came from the command line. */
export const SET_FILE = '--set';
/** The top-level keys that are one text, and so can be overridden. */
const TEXT_KEYS = ['title', 'about', 'seed', 'rack'];
/** In place of a rack's file: no rack. A file of that name is `./none`. */
export const NO_RACK = 'none';

/** The source that places in `--set` refer to: one override a line. */
export function setSource(set: readonly string[]): string {
  return set.map((one) => one.replace(/[\r\n]+/g, ' ')).join('\n');
}

/** Reads overrides of the form `shape.decay=80ms`. */
export function readSets(set: readonly string[], report: Report): readonly Override[] {
  const source = sourceOf(SET_FILE, setSource(set));
  return source.lineStarts.flatMap((start, line) => {
    if (line >= set.length) return [];
    const next = source.lineStarts[line + 1];
    const end = next === undefined ? source.text.length : next - 1;
    return readSet(source, start, end, report);
  });
}

function readSet(
  source: SourceText,
  start: number,
  end: number,
  report: Report,
): readonly Override[] {
  const text = source.text.slice(start, end);
  const equals = text.indexOf('=');
  const path = text.slice(0, Math.max(0, equals)).trim();
  if (path === '') {
    report.add('syntax', placeAt(source, start, end), `${quoted(text)} sets nothing`, {
      expected:
        'MODULE.SETTING=VALUE, such as shape.decay=80ms, or INPUT=OUTPUT, such as bright.in=hiss.pink',
    });
    return [];
  }
  const first = start + text.indexOf(path);
  const value = readValue(source, start + equals + 1, end, report);
  if (!value) return [];
  return [overrideOf(path, value, (from, to) => placeAt(source, first + from, first + to))];
}

/** A list, a map or a quoted text is YAML; anything else is the text itself, so `---x` is a line. */
function readValue(
  source: SourceText,
  start: number,
  end: number,
  report: Report,
): Node | undefined {
  const text = source.text.slice(start, end).trim();
  if (/^[[{"']/.test(text)) return readYaml(source, report, start, end);
  const first = start + source.text.slice(start, end).indexOf(text);
  const within = (from: number, to: number): Place => placeAt(source, first + from, first + to);
  return { type: 'text', text, place: within(0, text.length), within } satisfies TextNode;
}

/** Reads the `set:` of a part: a map from paths to values. */
export function readPartSets(map: MapNode): readonly Override[] {
  return map.entries.map(({ key, at, value }) => overrideOf(key, value, within(at, key.length)));
}

/** The pieces of a key, unless quotation marks or escapes make it longer than it reads. */
function within(at: Place, length: number): (from: number, to: number) => Place {
  if (at.length !== length) return () => at;
  return (from, to) => ({ ...at, column: at.column + from, length: Math.max(1, to - from) });
}

function overrideOf(
  dotted: string,
  value: Node,
  place: (from: number, to: number) => Place,
): Override {
  const path = dotted.split('.');
  const piece = (index: number): Place => {
    const from = path.slice(0, index).reduce((sum, one) => sum + one.length + 1, 0);
    return place(from, from + (path[index]?.length ?? 0));
  };
  return { path, at: place(0, dotted.length), piece, value };
}

/**
 * Puts overrides into the tree of a file.
 * @returns the tree and, by part, the overrides that are meant for one; wrong paths are reported.
 */
export function applyOverrides(
  tree: MapNode,
  overrides: readonly Override[],
  report: Report,
): { readonly tree: MapNode; readonly forParts: ReadonlyMap<string, readonly Override[]> } {
  const forParts = new Map<string, Override[]>();
  let changed = tree;
  for (const override of overrides) {
    const [first, ...rest] = override.path as [string, ...string[]];
    const modules = entryOf(changed, 'modules');
    const moduleMap = modules?.value.type === 'map' ? modules.value : undefined;
    const module = moduleMap && entryOf(moduleMap, first);
    const partNames = namesIn(changed, 'parts');
    if (rest.length === 0) {
      if (first === 'rack' && isNone(override.value)) {
        changed = { ...changed, entries: changed.entries.filter(({ key }) => key !== first) };
      } else if (TEXT_KEYS.includes(first)) {
        changed = withEntry(changed, { key: first, at: override.at, value: override.value });
      } else if (partNames.includes(first)) {
        changed = withPartFile(changed, override);
      } else reportNoSetting(override, module !== undefined || partNames.includes(first), report);
    } else if (partNames.includes(first)) {
      const passed = { ...override, path: rest, piece: (i: number) => override.piece(i + 1) };
      forParts.set(first, [...(forParts.get(first) ?? []), passed]);
    } else if (modules && moduleMap && module) {
      // A module that is not a map has its own problem, reported when it is read.
      if (module.value.type !== 'map') continue;
      const value = withDeep(module.value, override, 1, report);
      if (value === undefined) continue;
      const edited = withEntry(moduleMap, { ...module, value });
      changed = withEntry(changed, { ...modules, value: edited });
    } else {
      const legal = [...namesIn(changed, 'modules'), ...partNames];
      const message = `there is no module ${quoted(first)}`;
      report.unknown('unknown-module', override.piece(0), message, first, legal);
    }
  }
  return { tree: changed, forParts };
}

function isNone(value: Node): boolean {
  return value.type === 'text' && value.text === NO_RACK;
}

/** A part from another file, with the settings that it is given here. */
function withPartFile(tree: MapNode, { path, at, value }: Override): MapNode {
  const parts = entryOf(tree, 'parts') as Entry & { readonly value: MapNode };
  const part = entryOf(parts.value, path[0] as string) as Entry;
  const file: Entry = { key: 'file', at, value };
  const given = part.value.type === 'map' ? withEntry(part.value, file) : value;
  return withEntry(tree, {
    ...parts,
    value: withEntry(parts.value, { ...part, value: given }),
  });
}

function reportNoSetting(override: Override, isModule: boolean, report: Report): void {
  const [name] = override.path as [string];
  if (isModule) {
    report.add('unknown-key', override.at, `${quoted(name)} is not a setting`, {
      expected: `one of its settings, as in ${name}.SETTING`,
    });
  } else {
    const message = `there is nothing to set that is called ${quoted(name)}`;
    report.unknown('unknown-key', override.at, message, name, TEXT_KEYS);
  }
}

function namesIn(tree: MapNode, key: string): readonly string[] {
  const value = entryOf(tree, key)?.value;
  return value?.type === 'map' ? value.entries.map((entry) => entry.key) : [];
}

/** `map` with the value at `path[index...]` replaced; undefined, and reported, if it has no such place. */
function withDeep(
  map: MapNode,
  override: Override,
  index: number,
  report: Report,
): MapNode | undefined {
  const { path, value } = override;
  const key = path[index] as string;
  if (index === path.length - 1) {
    return withEntry(map, { key, at: override.piece(index), value });
  }
  const entry = entryOf(map, key);
  if (!entry) {
    const message = `there is no ${quoted(key)} in ${quoted(path.slice(0, index).join('.'))}`;
    const legal = map.entries.map((one) => one.key);
    report.unknown('unknown-name', override.piece(index), message, key, legal);
    return undefined;
  }
  const inside = asMap(entry, path, index);
  if (!inside) {
    if (entry.value.type !== 'broken') {
      const whole = path.slice(0, index + 1).join('.');
      const message = `${quoted(whole)} is a ${entry.value.type}, which has no ${quoted(path[index + 1] as string)}`;
      report.add('wrong-type', override.piece(index + 1), message, {
        expected: `the whole of it, as in ${whole}=...`,
      });
    }
    return undefined;
  }
  const deeper = withDeep(inside, override, index + 1, report);
  return deeper && withEntry(map, { ...entry, value: deeper });
}

/** The map to go on in: a line of drum tab, `patterns.groove.hat`, becomes the long form with it. */
function asMap({ at, value }: Entry, path: readonly string[], index: number): MapNode | undefined {
  if (value.type === 'map') return value;
  if (value.type !== 'text' || index !== 3 || path[1] !== 'patterns') return undefined;
  return { type: 'map', place: value.place, entries: [{ key: 'steps', at, value }] };
}
