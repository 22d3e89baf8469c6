/** Reads a patch file: text in, a checked patch or everything that is wrong with it out. */

import type { Definition } from '../modules/definition.ts';
import { type KeptTrees, readFragment, readTree } from './fragment.ts';
import { type Load, type LoadRecording, unloaded } from './load.ts';
import { readSets } from './overrides.ts';
import type { Patch } from './patch.ts';
import { baseName, resolvePath } from './paths.ts';
import { type Rack, rackFrom } from './rack/rack.ts';
import { ontoRack, reportDials } from './rack/with-rack.ts';
import { type Entry, entryOf, type MapNode, reportWrong, textOf } from './text/nodes.ts';
import type { Problem } from './text/problem.ts';
import { quoted, Report } from './text/report.ts';

export const MAX_TITLE = 200;
/** The seed of a patch that names none. */
const DEFAULT_SEED = 'forehear';

/** Where a patch comes from, and what is read with it. */
export interface ReadOptions {
  /** Name of the file, or `-` for standard input; parts are found from its folder. */
  readonly file: string;
  /** The kinds of module that it may have: `KINDS`, and any of one's own. */
  readonly kinds: readonly Definition[];
  /** Gives a part's text by its path from where `file` is named, undefined if there is none. */
  readonly load?: Load;
  /** Gives a WAV file that a module plays, by its path; see {@link LoadRecording}. */
  readonly loadRecording?: LoadRecording;
  /** The same for the rack that the patch names; without it, no rack is read. */
  readonly loadRack?: Load;
  /** Another rack than the patch's own. */
  readonly rack?: { readonly file: string; readonly text: string };
  /** Overrides such as `shape.decay=80ms`; see `setSource` for the text that their places are in. */
  readonly set?: readonly string[];
  /** What earlier readings parsed, for a page that reads at every move; this one adds to it. */
  readonly kept?: KeptTrees;
}

/**
 * Reads and checks a patch, its parts and its overrides.
 * @returns the patch if nothing is wrong, and all problems in the order of the file. An empty text
 * is one problem. Throws only what `load` throws.
 */
export function readPatch(
  text: string,
  {
    file,
    kinds,
    load = () => undefined,
    loadRecording = () => undefined,
    loadRack,
    set = [],
    rack: other,
    kept,
  }: ReadOptions,
): { readonly patch?: Patch; readonly problems: readonly Problem[] } {
  const report = new Report();
  const written = readTree(file, text, report, kept);
  const overrides = readSets(set, report);
  if (!written) return { problems: report.sorted(file) };
  const { tree, modules, cables } = readFragment(
    written,
    overrides,
    { trail: [ownPath(file)], prefix: '' },
    {
      kinds,
      load,
      loadRecording,
      report,
      trees: new Map(),
      kept,
      totals: { modules: 0, cables: 0, parts: 0 },
    },
  );
  if (!entryOf(tree, 'modules') && !entryOf(tree, 'parts')) {
    const place = { ...tree.place, length: 1 };
    report.add('missing', place, 'the patch has no modules', {
      expected: 'modules: { hiss: { kind: noise } }',
    });
  }
  const title = readText(tree, 'title', report);
  if (title !== undefined && title.length > MAX_TITLE) {
    const { at } = entryOf(tree, 'title') as Entry;
    report.add('range', at, `a title of ${title.length} characters`, {
      expected: `at most ${MAX_TITLE} characters`,
    });
  }
  const rack = rackOf(tree, file, report);
  const owned = other
    ? rackFrom(other.file, other.text, kinds, report)
    : rack && loadRack && namedRack(rack, loadRack, kinds, report);
  const plain: Patch = {
    file,
    title: title || (file === '-' ? 'standard input' : baseName(file)),
    about: readText(tree, 'about', report) ?? '',
    seed: readText(tree, 'seed', report) || DEFAULT_SEED,
    ...(rack && { rack }),
    modules,
    cables,
  };
  const patch = owned ? ontoRack(plain, owned, report) : plain;
  if (!owned) reportDials(plain, report);
  return report.count === 0 ? { patch, problems: [] } : { problems: report.sorted(file) };
}

/** The file's own name as a part would come to it, to catch a part that includes the whole. */
function ownPath(file: string): string {
  return resolvePath('', file) ?? file;
}

/** A text that may be empty. */
function readText(tree: MapNode, key: string, report: Report): string | undefined {
  const entry = entryOf(tree, key);
  if (!entry) return undefined;
  return entry.value.type === 'text' ? entry.value.text : reportWrong(entry, 'a text', report);
}

function namedRack(
  { path, place }: NonNullable<Patch['rack']>,
  load: Load,
  kinds: readonly Definition[],
  report: Report,
): Rack | undefined {
  const text = load(path);
  if (typeof text === 'string') return rackFrom(path, text, kinds, report);
  report.add('missing', place, unloaded(path, text));
  return undefined;
}

function rackOf(tree: MapNode, file: string, report: Report): Patch['rack'] | undefined {
  const entry = entryOf(tree, 'rack');
  const node = entry && textOf(entry, 'a file such as racks/cabinet.yaml', report);
  if (!node) return undefined;
  const path = resolvePath(file, node.text);
  if (path !== undefined) return { path, place: node.place };
  report.add('wrong-type', node.place, `${quoted(node.text)} is not a path`, {
    expected: 'a path with "/" from the folder of this file, such as racks/cabinet.yaml',
  });
  return undefined;
}
