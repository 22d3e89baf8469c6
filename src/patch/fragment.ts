/** Reads what a whole patch and a part have in common: modules, parts and cables. */

import type { Definition, Jack, Recorded } from '../modules/definition.ts';
import { MAX_CABLES, readCables } from './cables.ts';
import { type Load, type LoadRecording, unloaded } from './load.ts';
import { type KnownJacks, readModule, UNSURE } from './modules.ts';
import { applyOverrides, isPlug, type Override, readPartSets } from './overrides.ts';
import type { Cable, PatchModule } from './patch.ts';
import { resolvePath } from './paths.ts';
import { replugged } from './plugs.ts';
import { readRecording } from './recording/read-recording.ts';
import { checkName, type Entry, entryOf, type MapNode, mapOf, textOf } from './text/nodes.ts';
import { quoted, type Report } from './text/report.ts';
import { sourceOf } from './text/source.ts';
import { readYaml } from './text/yaml.ts';

export const MAX_MODULES = 2000;
/** Parts inside parts, and how many there may be in all. */
export const MAX_PART_DEPTH = 8;
const MAX_PARTS = 500;

const WHOLE_KEYS = ['title', 'about', 'seed', 'rack', 'modules', 'parts', 'cables'];
const PART_KEYS = ['title', 'about', 'modules', 'parts', 'cables'];

/** What one reading shares among the files it reads. */
export interface Shared {
  readonly kinds: readonly Definition[];
  readonly load: Load;
  readonly loadRecording: LoadRecording;
  readonly report: Report;
  /** Trees by path, so that a part used twice is read once; undefined for one that cannot be read. */
  readonly trees: Map<string, MapNode | undefined>;
  /** Trees of earlier readings. */
  readonly kept: KeptTrees | undefined;
  /** How much there is so far. */
  readonly totals: { modules: number; cables: number; parts: number };
}

/** Trees of texts without fault, by file, so that a text that is read again is not parsed again. */
export type KeptTrees = Map<string, KeptTree>;

interface KeptTree {
  readonly text: string;
  readonly tree: MapNode;
  /** Modules without fault, by their names, and the entries of the tree that they are read from. */
  readonly modules: Map<string, KeptModule>;
}

interface KeptModule {
  readonly entry: Entry;
  readonly module: PatchModule;
  readonly known: KnownJacks;
}

export interface Fragment {
  /** The tree with its overrides, for the keys that only a whole patch has. */
  readonly tree: MapNode;
  readonly modules: readonly PatchModule[];
  readonly cables: readonly Cable[];
  /** The modules by the names that the file has for them. */
  readonly known: ReadonlyMap<string, KnownJacks>;
}

/** Where a fragment stands: its file, its parts' way down to it, and its prefix (`hat.`). */
export interface FragmentSite {
  readonly trail: readonly string[];
  readonly prefix: string;
}

/** Reads the modules, parts and cables of one file in their order. */
export function readFragment(
  written: MapNode,
  overrides: readonly Override[],
  site: FragmentSite,
  shared: Shared,
): Fragment {
  const { report } = shared;
  const settings = overrides.filter((one) => !isPlug(one));
  const { tree, forParts } = applyOverrides(written, settings, report);
  const legal = site.prefix === '' ? WHOLE_KEYS : PART_KEYS;
  for (const { key, at } of tree.entries) {
    if (legal.includes(key)) continue;
    const where = site.prefix === '' ? 'a patch' : 'a part';
    report.unknown('unknown-key', at, `${where} has no ${quoted(key)}`, key, legal);
  }
  const modules: PatchModule[] = [];
  const known = new Map<string, KnownJacks>();
  const lostParts = new Set<string>();
  const partCables: Cable[] = [];
  // Without all of its modules, a file's cables have nothing to be checked against.
  let whole = entryOf(tree, 'modules') !== undefined || entryOf(tree, 'parts') !== undefined;
  for (const entry of tree.entries) {
    if (entry.key === 'modules') {
      const map = mapOf(entry, 'a map of modules, such as { hiss: { kind: noise } }', report);
      if (!map || !readModules(map, site, shared, modules, known)) whole = false;
    } else if (entry.key === 'parts') {
      const map = mapOf(entry, 'a map of parts, such as { hat: parts/hat.yaml }', report);
      if (!map) whole = false;
      for (const part of map?.entries ?? []) {
        const read = readPart(part, forParts.get(part.key) ?? [], known, site, shared);
        if (!read) lostParts.add(part.key);
        for (const module of read?.modules ?? []) modules.push(module);
        for (const cable of read?.cables ?? []) partCables.push(cable);
        for (const [name, module] of read?.known ?? []) known.set(`${part.key}.${name}`, module);
      }
    }
  }
  const entry = entryOf(tree, 'cables');
  const scope = { modules: known, lostParts, partCables, prefix: site.prefix };
  if (entry?.value.type === 'list') shared.totals.cables += entry.value.items.length;
  const tooMany = shared.totals.cables > MAX_CABLES;
  if (entry && tooMany) report.add('too-big', entry.at, `more than ${MAX_CABLES} cables`);
  const own = entry && whole && !tooMany ? readCables(entry, scope, report) : [];
  const keys = tree.entries.map(({ key }) => key);
  const partsFirst = keys.indexOf('parts') < keys.indexOf('cables');
  const all = partsFirst ? [...partCables, ...own] : [...own, ...partCables];
  const cables = whole ? replugged(all, overrides.filter(isPlug), scope, report) : all;
  for (const [name, { jacks, atOwnTempo = [] }] of known) {
    if (atOwnTempo.length === 0) continue;
    const isLed = jacks.some(
      (jack) =>
        jack.direction === 'in' && jack.leads && isPlugged(site.prefix + name, jack, cables),
    );
    // At which tempo it plays then only the check can tell.
    if (!isLed) for (const { place, message } of atOwnTempo) report.add('range', place, message);
  }
  return { tree, modules, cables, known };
}

function isPlugged(module: string, { name }: Jack, cables: readonly Cable[]): boolean {
  return cables.some(({ from, to }) =>
    [from, to].some((end) => end.module === module && end.jack === name),
  );
}

/** Reads the modules of one file into `modules` and `known`; false if there are too many. */
function readModules(
  map: MapNode,
  { prefix, trail }: FragmentSite,
  { kinds, report, totals, loadRecording, kept }: Shared,
  modules: PatchModule[],
  known: Map<string, KnownJacks>,
): boolean {
  const [main = ''] = trail;
  const around = { from: trail.at(-1) ?? main, main };
  const before = kept?.get(around.from)?.modules;
  const read = (entry: Entry): KeptModule | undefined => {
    const name = prefix + entry.key;
    const same = before?.get(name);
    // An earlier reading may have had other kinds.
    if (same?.entry === entry && kinds.includes(same.module.definition)) return same;
    let isAlone = true;
    const recordings = (given: Entry): Recorded | undefined => {
      // The file may hold something else the next time.
      isAlone = false;
      return readRecording(given, around, loadRecording, report);
    };
    const { count } = report;
    const given = readModule(entry, name, { kinds, recordings }, report);
    if (given === undefined) return undefined;
    const { sure: _, renamed: __, atOwnTempo: ___, ...module } = given;
    const made = { entry, module, known: given };
    if (isAlone && report.count === count) before?.set(name, made);
    return made;
  };
  for (const entry of map.entries) {
    if (++totals.modules > MAX_MODULES) {
      report.add('too-big', entry.at, `more than ${MAX_MODULES} modules`);
      return false;
    }
    checkName(entry.key, entry.at, report);
    const made = read(entry);
    known.set(entry.key, made?.known ?? UNSURE);
    if (!made) continue;
    modules.push(made.module);
    const { kind, role } = made.module.definition;
    if (prefix !== '' && (role === 'score' || role === 'output')) {
      report.add('part', entry.at, `a part cannot have a module of the kind ${quoted(kind)}`);
    }
  }
  return true;
}

const PART_RULE = 'a file such as parts/hat.yaml, or { file: parts/hat.yaml, set: { ... } }';

/** Reads one part and the file it names; undefined, and reported, if there is nothing to read. */
function readPart(
  entry: Entry,
  overrides: readonly Override[],
  known: ReadonlyMap<string, KnownJacks>,
  { trail, prefix }: FragmentSite,
  shared: Shared,
): Fragment | undefined {
  const { report, totals } = shared;
  checkName(entry.key, entry.at, report);
  if (known.has(entry.key)) {
    report.add('duplicate', entry.at, `${quoted(entry.key)} is the name of a module`);
  }
  const { file, sets } = partOf(entry, report);
  const node = file && textOf(file, PART_RULE, report);
  if (!node) return undefined;
  const path = resolvePath(trail.at(-1) as string, node.text);
  if (path === undefined) {
    report.add('part', node.place, `${quoted(node.text)} is not a path of a part`, {
      expected: 'a path with "/" from the folder of this file, such as parts/hat.yaml',
    });
    return undefined;
  }
  if (trail.includes(path)) {
    report.add('part', node.place, `the part ${quoted(node.text)} includes itself`);
    return undefined;
  }
  if (trail.length > MAX_PART_DEPTH) {
    report.add('too-big', node.place, `more than ${MAX_PART_DEPTH} parts inside one another`);
    return undefined;
  }
  if (++totals.parts > MAX_PARTS) {
    report.add('too-big', node.place, `more than ${MAX_PARTS} parts`);
    return undefined;
  }
  if (!shared.trees.has(path)) {
    const text = shared.load(path);
    const isText = typeof text === 'string';
    if (!isText) report.add('part', node.place, unloaded(path, text));
    const tree = isText ? readTree(path, text, report, shared.kept) : undefined;
    shared.trees.set(path, tree);
  }
  const tree = shared.trees.get(path);
  const site = { trail: [...trail, path], prefix: `${prefix}${entry.key}.` };
  return tree && readFragment(tree, [...sets, ...overrides], site, shared);
}

/** `hat: parts/hat.yaml`, or the same with `set:`. */
function partOf(
  entry: Entry,
  report: Report,
): { readonly file: Entry | undefined; readonly sets: readonly Override[] } {
  if (entry.value.type !== 'map') return { file: entry, sets: [] };
  const legal = ['file', 'set'];
  for (const { key, at } of entry.value.entries) {
    if (!legal.includes(key)) {
      report.unknown('unknown-key', at, `a part has no ${quoted(key)} here`, key, legal);
    }
  }
  const file = entryOf(entry.value, 'file');
  if (!file) {
    report.add('missing', entry.at, `the part ${quoted(entry.key)} has no file`, {
      expected: PART_RULE,
    });
  }
  const set = entryOf(entry.value, 'set');
  const map = set && mapOf(set, 'settings such as { shape.decay: 80 ms }', report);
  return { file, sets: map ? readPartSets(map) : [] };
}

/** The map that a file holds; undefined, and reported, if it holds something else. */
export function readTree(
  file: string,
  text: string,
  report: Report,
  kept?: KeptTrees,
): MapNode | undefined {
  const known = kept?.get(file);
  if (known?.text === text) return known.tree;
  const source = sourceOf(file, text);
  const before = report.count;
  const node = readYaml(source, report);
  if (node?.type === 'map') {
    if (report.count === before) kept?.set(file, { text, tree: node, modules: new Map() });
    return node;
  }
  if (report.count === before) {
    const place = node?.place ?? { file, line: 1, column: 1, length: 1 };
    const expected = 'keys such as title, modules and cables';
    if (!node) report.add('missing', place, 'the file is empty', { expected });
    else report.add('wrong-type', place, `this is a ${node.type}, not a patch`, { expected });
  }
  return undefined;
}
