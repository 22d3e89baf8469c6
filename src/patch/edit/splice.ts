/** Pieces of text that are cut and pasted at the places that a YAML document gives. */

import type { Node, Pair, YAMLMap } from 'yaml';
import { placeAt, type SourceText } from '../text/source.ts';

/** A stretch of the text and what takes its place. */
export interface Splice {
  readonly from: number;
  readonly to: number;
  readonly text: string;
}

export type Tree = YAMLMap<Node, Node | null>;

/** Adds `key: value` to a map, as another line or inside its braces. */
export function addPair(map: Tree, text: string, source: SourceText): Splice[] | undefined {
  const last = map.items.at(-1);
  if (map.flow) {
    const end = (map.range?.[1] ?? 0) - 1;
    if (last === undefined) return [{ from: end, to: end, text: ` ${text} ` }];
    const at = textEnd(source, endOf(last));
    return [{ from: at, to: at, text: `, ${text}` }];
  }
  const first = map.items[0];
  if (first === undefined || last === undefined) return undefined;
  const { column } = placeAt(source, first.key.range?.[0] ?? 0, 1);
  const at = lineEnd(source, textEnd(source, endOf(last)));
  return [{ from: at, to: at, text: `${newline(source)}${' '.repeat(column - 1)}${text}` }];
}

/** The end of the text before `offset`, without the blank that a block's range takes in. */
export function textEnd(source: SourceText, offset: number): number {
  return source.text.slice(0, offset).trimEnd().length;
}

/** The end of the line, past a comment that stands on it. */
export function lineEnd(source: SourceText, offset: number): number {
  const end = source.text.indexOf('\n', offset);
  if (end < 0) return source.text.length;
  return source.text[end - 1] === '\r' ? end - 1 : end;
}

export function newline(source: SourceText): string {
  return source.text.includes('\r\n') ? '\r\n' : '\n';
}

function endOf(pair: Pair<Node, Node | null>): number {
  return (pair.value ?? pair.key).range?.[1] ?? 0;
}
