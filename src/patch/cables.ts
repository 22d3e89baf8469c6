/** Reads `from.jack -> to.jack` against the modules that there are. */

import type { Jack } from '../modules/definition.ts';
import type { KnownJacks } from './modules.ts';
import type { Cable, JackRef } from './patch.ts';
import { nearest, shortList } from './text/nearest.ts';
import { type Entry, isEmpty, listOf, type Node, type TextNode } from './text/nodes.ts';
import { quoted, type Report } from './text/report.ts';

export const MAX_CABLES = 8000;
const RULE = 'a cable such as shape.out -> level.control';
/** Schema and reader agree: module.jack, the module perhaps in a part, the arrow, and the same again. */
export const CABLE_PATTERN = '^\\s*[^\\s>]+\\.[^\\s>]+?\\s*->\\s*[^\\s>]+\\.[^\\s>]+\\s*$';

/** The modules that cables in one file may name, by the names it has for them. */
export interface Scope {
  readonly modules: ReadonlyMap<string, KnownJacks>;
  /** Parts that could not be read: any module of theirs may be right. */
  readonly lostParts: ReadonlySet<string>;
  /** The cables of parts, which this file need not repeat. */
  readonly partCables: readonly Cable[];
  /** What stands before a name of this file in the whole patch: `hat.` in the part `hat`. */
  readonly prefix: string;
}

type CableSide = 'from' | 'to';

/** Reads the cables of one file; every fault is reported, and the sound ones are returned. */
export function readCables(entry: Entry, scope: Scope, report: Report): readonly Cable[] {
  const cables: Cable[] = [];
  const keyOf = ({ from, to }: Cable): string => JSON.stringify([from, to]);
  const places = new Map(scope.partCables.map((cable) => [keyOf(cable), cable.place]));
  for (const item of listOf(entry, `a list, each item ${RULE}`, report)?.items ?? []) {
    const cable = readCable(item, scope, report);
    if (!cable) continue;
    const key = keyOf(cable);
    const first = places.get(key);
    if (first) {
      const where = first.file === cable.place.file ? '' : ` of ${first.file}`;
      const message = `this cable is there already, on line ${first.line}${where}`;
      report.add('duplicate', cable.place, message);
      continue;
    }
    places.set(key, cable.place);
    cables.push(cable);
  }
  return cables;
}

/** Reads one cable; undefined, and reported, if it is not one. */
export function readCable(item: Node, scope: Scope, report: Report): Cable | undefined {
  if (item.type === 'broken') return undefined;
  if (item.type !== 'text' || isEmpty(item)) {
    report.add('wrong-type', item.place, 'this is not a cable', { expected: RULE });
    return undefined;
  }
  const pieces = item.text.split('->');
  if (pieces.length !== 2) {
    const message =
      pieces.length > 2 ? 'one cable joins two jacks' : `${quoted(item.text)} is not a cable`;
    report.add('wrong-type', item.place, message, {
      expected: RULE,
      nearest: arrowMended(item.text),
    });
    return undefined;
  }
  const [left, right] = pieces as [string, string];
  const from = readEnd(item, left, 0, scope, report);
  const to = readEnd(item, right, left.length + 2, scope, report);
  if (!from || !to) return undefined;
  if (from.jack?.direction === 'in' && to.jack?.direction === 'out') {
    const message = 'the cable runs from an input to an output';
    report.add('direction', item.place, message, {
      expected: 'the output first',
      nearest: `${to.text} -> ${from.text}`,
    });
    return undefined;
  }
  if (!checkDirection(from, 'from', report) || !checkDirection(to, 'to', report)) return undefined;
  return { from: from.ref, to: to.ref, place: item.place };
}

/** Other arrows that come to mind or that an editor makes of it: `=>`, `-->`, `–>`, `>`, and the character. */
function arrowMended(text: string): string | undefined {
  if (text.length > 200 || text.includes('->')) return undefined;
  const mended = text.replace(/\s*(?:[-–—−=]*>|→|⇒)\s*/u, ' -> ');
  return mended === text ? undefined : mended;
}

/** One end of a cable that names a jack: with the jack, unless faults elsewhere leave it open. */
interface CableEnd {
  readonly text: string;
  readonly ref: JackRef;
  readonly jack?: Jack | undefined;
  readonly known: KnownJacks;
  readonly place: ReturnType<TextNode['within']>;
}

function readEnd(
  node: TextNode,
  piece: string,
  start: number,
  scope: Scope,
  report: Report,
): CableEnd | undefined {
  const text = piece.trim();
  const first = start + piece.indexOf(text);
  const dot = text.lastIndexOf('.');
  const place = node.within(first, first + text.length);
  const module = text.slice(0, Math.max(0, dot));
  const jackName = text.slice(dot + 1);
  if (module === '' || jackName === '') {
    const jacks = scope.modules.get(text.replace(/\.$/, ''))?.jacks ?? [];
    report.add('unknown-jack', place, `${quoted(text)} does not name a jack`, {
      expected: shortList(jacks.map((jack) => `${text.replace(/\.$/, '')}.${jack.name}`)) ?? RULE,
    });
    return undefined;
  }
  const known = scope.modules.get(module);
  if (!known) {
    if ([...scope.lostParts].some((part) => module.startsWith(`${part}.`))) return undefined;
    const at = node.within(first, first + module.length);
    const message = `there is no module ${quoted(module)}`;
    report.unknown('unknown-module', at, message, module, [...scope.modules.keys()]);
    return undefined;
  }
  const jack = known.jacks.find((one) => one.name === jackName);
  const renamed = known.renamed ?? {};
  const now = !jack && Object.hasOwn(renamed, jackName) ? renamed[jackName] : undefined;
  if (now !== undefined) {
    const at = node.within(first + dot + 1, first + text.length);
    report.add('unknown-jack', at, `the jack ${quoted(jackName)} is called ${quoted(now)} now`, {
      expected: `${module}.${now}`,
      ...(at.length === jackName.length && {
        rewrite: { type: 'replace-text', place: at, text: now },
      }),
    });
    return undefined;
  }
  if (!jack && !known.sure) return undefined;
  if (!jack) {
    const at = node.within(first + dot + 1, first + text.length);
    const legal = legalJacks(known, start === 0 ? 'from' : 'to');
    // Nearest among all: a jack of the other direction may be what was meant.
    const all = known.jacks.map((one) => one.name);
    const usual = known.definition?.former?.usual ?? {};
    if (Object.hasOwn(usual, jackName)) {
      const message = `${quoted(module)} has no jack ${quoted(jackName)} unless it is set to have one`;
      report.add('unknown-jack', at, message, { expected: usual[jackName] });
      return undefined;
    }
    report.add('unknown-jack', at, `${quoted(module)} has no jack ${quoted(jackName)}`, {
      expected: shortList(legal),
      nearest: nearest(jackName, legal) ?? nearest(jackName, all),
    });
    return undefined;
  }
  return { text, ref: { module: scope.prefix + module, jack: jackName }, jack, known, place };
}

function legalJacks(known: KnownJacks, end: CableSide): readonly string[] {
  const wrong = end === 'from' ? 'in' : 'out';
  return known.jacks.filter((jack) => jack.direction !== wrong).map((jack) => jack.name);
}

function checkDirection(found: CableEnd, end: CableSide, report: Report): boolean {
  const { jack, text, place, known } = found;
  if (jack?.direction !== (end === 'from' ? 'in' : 'out')) return true;
  const message =
    end === 'from'
      ? `${quoted(text)} is an input, and a cable starts at an output`
      : `${quoted(text)} is an output, and a cable ends at an input`;
  report.add('direction', place, message, { expected: shortList(legalJacks(known, end)) });
  return false;
}
