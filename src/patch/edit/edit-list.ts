/**
 * Items of a list put in, taken away and moved. In a list of lines a comment at the end of an item's line
 * goes with the item when it moves, and stays as a line of its own when the item is taken away; comments
 * on lines of their own stay where they are. In brackets every comment stays where it is.
 */

import { isMap, isScalar, isSeq, type Node, type YAMLSeq } from 'yaml';
import type { SourceText } from '../text/source.ts';
import { changedList, type ListChange } from './list-change.ts';
import { COMMENT, lineEnd, newline, type Splice, type Tree, valueEnd } from './splice.ts';

/** The changes of text; undefined if there is no list with such places, or it would become empty. */
export function changeList(
  path: readonly string[],
  change: ListChange,
  tree: Tree,
  source: SourceText,
): readonly Splice[] | undefined {
  const list = listAt(path, tree);
  if (list === undefined) return undefined;
  const { length } = list.items;
  const isPlace = (at: number, end: number): boolean => Number.isInteger(at) && at >= 0 && at < end;
  const items = list.items.map((item) => stretchOf(item as Node, list.flow === true, source));
  switch (change.type) {
    case 'insert':
      if (!isPlace(change.at, length + 1)) return undefined;
      return list.flow
        ? insertInFlow(items, change.at, change.text)
        : insertLine(items, change.at, change.text, source);
    case 'remove':
      if (!isPlace(change.at, length) || length === 1) return undefined;
      return list.flow
        ? [removeInFlow(items, change.at, source)]
        : [removeLine(items[change.at] as TextStretch, source)];
    case 'move': {
      if (!isPlace(change.from, length) || !isPlace(change.to, length)) return undefined;
      const texts = items.map(({ from, to }) => source.text.slice(from, to));
      // Each place gets the text that is to stand there.
      return changedList(texts, change, '').flatMap((text, at) => {
        const { from, to } = items[at] as TextStretch;
        return text === texts[at] ? [] : [{ from, to, text }];
      });
    }
  }
}

/** Where an item stands. */
interface TextStretch {
  readonly from: number;
  /** In a list of lines with the comment at the end of its line. */
  readonly to: number;
  /** Without it. */
  readonly end: number;
}

function listAt(path: readonly string[], tree: Tree): YAMLSeq | undefined {
  let node: Node | null | undefined = tree;
  for (const key of path) {
    if (!isMap(node)) return undefined;
    node = (node as Tree).items.find(
      (one) => isScalar(one.key) && String(one.key.value) === key,
    )?.value;
  }
  return isSeq(node) && node.items.length > 0 ? (node as YAMLSeq) : undefined;
}

function stretchOf(item: Node, isFlow: boolean, source: SourceText): TextStretch {
  const from = item.range?.[0] ?? 0;
  const end = Math.max(from, valueEnd(item, source));
  return { from, end, to: isFlow ? end : lineEnd(source, end) };
}

function insertInFlow(items: readonly TextStretch[], at: number, text: string): readonly Splice[] {
  const next = items[at];
  const place = next?.from ?? items.at(-1)?.end ?? 0;
  return [{ from: place, to: place, text: next === undefined ? `, ${text}` : `${text}, ` }];
}

function removeInFlow(items: readonly TextStretch[], at: number, { text }: SourceText): Splice {
  const { from, end } = items[at] as TextStretch;
  const before = items[at - 1];
  if (before !== undefined && !COMMENT.test(text.slice(before.end, from)))
    return { from: before.end, to: end, text: '' };
  const next = items[at + 1];
  if (next !== undefined && !COMMENT.test(text.slice(end, next.from)))
    return { from, to: next.from, text: '' };
  const comma = /^\s*,/.exec(text.slice(end))?.[0].length ?? 0;
  return { from, to: end + comma, text: '' };
}

/** What stands in front of an item on its line; undefined if that is more than its dash. */
function leadOf({ from }: TextStretch, { text }: SourceText): string | undefined {
  const lead = text.slice(text.lastIndexOf('\n', from - 1) + 1, from);
  return /^\s*-\s+$/.test(lead) ? lead : undefined;
}

function insertLine(
  items: readonly TextStretch[],
  at: number,
  text: string,
  source: SourceText,
): readonly Splice[] | undefined {
  const near = items[Math.min(at, items.length - 1)] as TextStretch;
  const lead = leadOf(near, source);
  if (lead === undefined) return undefined;
  const end = newline(source);
  const place = at < items.length ? near.from - lead.length : near.to;
  const line = `${lead}${text}`;
  return [{ from: place, to: place, text: at < items.length ? `${line}${end}` : `${end}${line}` }];
}

function removeLine(item: TextStretch, source: SourceText): Splice {
  const { text } = source;
  const lead = leadOf(item, source) ?? '- ';
  const dash = item.from - lead.trimStart().length;
  const comment = text.slice(item.end, item.to).trimStart();
  if (comment !== '') return { from: dash, to: item.to, text: comment };
  const start = text.lastIndexOf('\n', item.from - 1) + 1;
  const after = text.startsWith(newline(source), item.to) ? newline(source).length : 0;
  return { from: start, to: item.to + after, text: '' };
}
