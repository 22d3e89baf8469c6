/**
 * Sets or removes the value at a path of keys in a patch file: in place where the file gives one, otherwise
 * added where its map ends. Keys on the way that are missing come with it, in the flow style. In a list the key
 * is the number of an item, counted from 0. Three short forms make way for the long ones that mean the same:
 * `hat: parts/hat.yaml` when something is set in that part, drum tab when something besides its steps is, and
 * the name of a pattern in a song when something besides it is.
 */

import { isMap, isScalar, isSeq, type Node } from 'yaml';
import type { SourceText } from '../text/source.ts';
import { addBlock, addPair, removePair, type Splice, type Tree } from './splice.ts';

interface SetValue {
  readonly path: readonly string[];
  readonly text: string;
  /** Lines under their key that say the same. */
  readonly block?: readonly string[];
}

/** The changes of text that put `text` at `path`; undefined if what is on the way is no map. */
export function setValue(
  { path, text, block }: SetValue,
  tree: Tree,
  source: SourceText,
): readonly Splice[] | undefined {
  let map = tree;
  for (let index = 0; index < path.length; index++) {
    const pair = pairOf(map, path[index] as string);
    let rest = path.slice(index + 1);
    if (pair === undefined) {
      const isBlock = block !== undefined && rest.length === 0 && !map.flow;
      return isBlock
        ? addBlock(map, `${path[index]}:`, block, source)
        : addPair(map, `${path[index]}: ${nested(rest, text)}`, source);
    }
    let { value } = pair;
    if (isSeq(value) && rest.length > 0) {
      value = (value.items[Number(rest[0])] as Node | undefined) ?? null;
      if (value === null) return undefined;
      index += 1;
      rest = rest.slice(1);
    }
    if (isMap(value) && rest.length > 0) {
      map = value as Tree;
      continue;
    }
    if (value === null || isEmpty(value)) {
      const at = pair.key.range?.[1] ?? 0;
      const colon = source.text.indexOf(':', at) + 1;
      return [{ from: colon, to: colon, text: ` ${nested(rest, text)}` }];
    }
    const [from, to] = value.range ?? [0, 0];
    const end = source.text.slice(0, to).trimEnd().length;
    const written = source.text.slice(from, end);
    if (rest.length === 0) return [{ from, to: Math.max(from, end), text }];
    const short = isScalar(value) ? LONG[path[0] as string]?.(index, written, path) : undefined;
    if (short === undefined) return undefined;
    return [{ from, to: end, text: `{ ${short}, ${rest[0]}: ${nested(rest.slice(1), text)} }` }];
  }
  return undefined;
}

/**
 * The changes of text that take away what stands at `path`, and the maps that then hold nothing.
 * @param stays how many keys of the path stay, whatever they then hold.
 * @returns undefined if nothing stands there.
 */
export function removeValue(
  path: readonly string[],
  stays: number,
  tree: Tree,
  source: SourceText,
): readonly Splice[] | undefined {
  const way: { readonly map: Tree; readonly key: string; readonly depth: number }[] = [];
  let node: Node | null | undefined = tree;
  for (const [depth, key] of path.entries()) {
    if (isMap(node)) {
      const pair = pairOf(node as Tree, key);
      if (pair === undefined) return undefined;
      way.push({ map: node as Tree, key, depth });
      node = pair.value;
    } else if (isSeq(node)) node = node.items[Number(key)] as Node | undefined;
    else return undefined;
  }
  for (let last = way.pop(); last !== undefined; last = way.pop()) {
    if (last.map.items.length > 1 || last.depth <= stays)
      return removePair(last.map, last.key, source);
  }
  return undefined;
}

function pairOf(map: Tree, key: string): Tree['items'][number] | undefined {
  return map.items.find((one) => isScalar(one.key) && String(one.key.value) === key);
}

/** By the first key: the long form of what is written in short at that depth of the path. */
const LONG: Readonly<
  Record<string, (depth: number, written: string, path: readonly string[]) => string | undefined>
> = {
  parts: (depth, written) => (depth === 1 ? `file: ${written}` : undefined),
  modules: (depth, written, path) => {
    if (depth === 3 && path[2] === 'song') return `pattern: ${written}`;
    return depth === 4 ? `steps: ${written}` : undefined;
  },
};

function nested(path: readonly string[], text: string): string {
  return path.reduceRight((inner, key) => `{ ${key}: ${inner} }`, text);
}

function isEmpty(node: Node): boolean {
  return isScalar(node) && node.range?.[0] === node.range?.[1];
}
