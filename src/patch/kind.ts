/** Reads which kind a module of a patch, or a unit of a rack, is of. */

import type { Definition } from '../modules/definition.ts';
import { type Entry, entryOf, type MapNode, type TextNode, textOf } from './text/nodes.ts';
import { quoted, type Report } from './text/report.ts';

/**
 * Gives the kind that a module names.
 * @param entry the module, and @param map what is said of it.
 * @returns undefined, with the problem reported, where it names none that there is.
 */
export function readKind(
  entry: Entry,
  map: MapNode,
  kinds: readonly Definition[],
  report: Report,
): Definition | undefined {
  const named = entryOf(map, 'kind');
  if (!named) {
    report.add('missing', entry.at, `${quoted(entry.key)} has no kind`, {
      expected: 'the kind of module, such as { kind: noise }',
    });
    return undefined;
  }
  const kind = textOf(named, 'the kind of module', report);
  if (!kind) return undefined;
  const definition = kinds.find((one) => one.kind === kind.text);
  if (!definition) reportUnknownKind(kind, kinds, report);
  return definition;
}

/** The kind that someone may mean by a word of the trade. */
export function kindMeant(word: string, kinds: readonly Definition[]): string | undefined {
  const said = word.toLowerCase().replace(/[\s_]+/g, '-');
  return kinds.find(({ alsoCalled }) => alsoCalled?.includes(said))?.kind;
}

/** Notes a kind that is not there, with the one that may be meant. */
export function reportUnknownKind(
  kind: TextNode,
  kinds: readonly Definition[],
  report: Report,
): void {
  const legal = kinds.map((one) => one.kind);
  const meant = kindMeant(kind.text, kinds);
  const message = `there is no kind ${quoted(kind.text)}`;
  if (meant !== undefined) report.add('unknown-kind', kind.place, message, { nearest: meant });
  else report.unknown('unknown-kind', kind.place, message, kind.text, legal);
}
