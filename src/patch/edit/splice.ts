/** Pieces of text that are cut and pasted at the places that a YAML document gives. */

import { isMap, isScalar, isSeq, Lexer, type Node, type Pair, type YAMLMap } from 'yaml';
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

/** Adds a key to a map of lines, with lines of its own under it. */
export function addBlock(
  map: Tree,
  key: string,
  lines: readonly string[],
  source: SourceText,
): Splice[] | undefined {
  const { column } = placeAt(source, map.items[0]?.key.range?.[0] ?? 0, 1);
  const indent = `${newline(source)}${' '.repeat(column + 1)}`;
  return addPair(map, [key, ...lines].join(indent), source);
}

/** A comment, which a number sign inside a word, as in C#2, is not. */
export const COMMENT = /(?:^|\s)#/;

/**
 * Puts pairs in place of the first of several, and takes the others away with their lines or commas.
 * Comments stay.
 * @returns undefined if one of them is not there, or has a comment inside it.
 */
export function replacePairs(
  map: Tree,
  keys: readonly string[],
  texts: readonly string[],
  source: SourceText,
): Splice[] | undefined {
  const places = map.items.flatMap(({ key }, index) =>
    isScalar(key) && keys.includes(String(key.value)) ? [index] : [],
  );
  const [first, ...others] = places;
  if (first === undefined || places.length < keys.length) return undefined;
  const pairAt = (index: number): Pair<Node, Node | null> =>
    map.items[index] as Pair<Node, Node | null>;
  const startAt = (index: number): number => pairAt(index).key.range?.[0] ?? 0;
  const endAt = (index: number): number => textEnd(source, endOf(pairAt(index)));
  if (places.some((index) => COMMENT.test(source.text.slice(startAt(index), endAt(index)))))
    return undefined;
  const indent = ' '.repeat(placeAt(source, startAt(first), 1).column - 1);
  const text = texts.join(map.flow ? ', ' : `${newline(source)}${indent}`);
  return [
    { from: startAt(first), to: endAt(first), text },
    // None of these is the first pair of the map, so there is one before it.
    ...others.map((index) =>
      map.flow
        ? withoutInFlow(endAt(index - 1), startAt(index), endAt(index), source)
        : withoutLine(startAt(index), endAt(index), source),
    ),
  ];
}

/** Takes one pair of a map away; comments stay. @returns undefined if it has none of that key. */
export function removePair(map: Tree, key: string, source: SourceText): Splice[] | undefined {
  const at = map.items.findIndex((one) => isScalar(one.key) && String(one.key.value) === key);
  const pair = map.items[at];
  if (pair === undefined) return undefined;
  const start = pair.key.range?.[0] ?? 0;
  const end = valueEnd(pair.value ?? pair.key, source);
  const before = map.items[at - 1];
  if (map.flow && before !== undefined)
    return [withoutInFlow(textEnd(source, endOf(before)), start, end, source)];
  const next = map.items[at + 1];
  const line = source.text.slice(source.text.lastIndexOf('\n', start - 1) + 1, start);
  // The first of a map in braces, or on the line of a dash: the next takes its place.
  if (map.flow || line.trim() !== '') {
    const nextStart = next?.key.range?.[0] ?? end;
    const isFree = !COMMENT.test(source.text.slice(end, nextStart));
    const comma = map.flow ? (/^\s*,/.exec(source.text.slice(end))?.[0].length ?? 0) : 0;
    return [{ from: start, to: isFree ? nextStart : end + comma, text: '' }];
  }
  return [withoutLine(start, end, source)];
}

/** Takes a pair of a flow map away, with the comma before it, or the one after it if a comment is between. */
function withoutInFlow(before: number, start: number, end: number, { text }: SourceText): Splice {
  if (!COMMENT.test(text.slice(before, start))) return { from: before, to: end, text: '' };
  const comma = /^\s*,/.exec(text.slice(end))?.[0].length ?? 0;
  return { from: start, to: end + comma, text: '' };
}

/** Takes a pair of a block map away, with its lines unless comments are on them, which stay. */
function withoutLine(start: number, end: number, source: SourceText): Splice {
  const to = lineEnd(source, end);
  const before = source.text.lastIndexOf('\n', start - 1);
  const kept = commentsIn(source.text.slice(start, to));
  if (kept.length > 0) {
    const indent = source.text.slice(before + 1, start);
    return { from: start, to, text: kept.join(`${newline(source)}${indent}`) };
  }
  const from = source.text[before - 1] === '\r' ? before - 1 : before;
  return { from, to, text: '' };
}

function commentsIn(text: string): readonly string[] {
  return [...new Lexer().lex(text)].filter((token) => token.startsWith('#'));
}

/** The end of a value without the comments after it, which the range of a block takes in. */
export function valueEnd(value: Node, source: SourceText): number {
  let node = value;
  for (let inner = lastIn(node); inner !== undefined; inner = lastIn(node)) node = inner;
  return textEnd(source, node.range?.[1] ?? 0);
}

/** The last value in a block; undefined for anything else. */
function lastIn(node: Node): Node | undefined {
  if (isMap(node) && !node.flow) return (node as Tree).items.at(-1)?.value ?? undefined;
  return isSeq(node) && !node.flow ? (node.items.at(-1) as Node | undefined) : undefined;
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
