/**
 * Another value at a path of keys in a patch file: in place where the file gives one, else added
 * where its map ends. Keys on the way that are missing come with it, in the flow style. Two short
 * forms make way for the long ones that mean the same: `hat: parts/hat.yaml` when something is set
 * in that part, and drum tab when something besides its steps is.
 */

import { isMap, isScalar, type Node } from 'yaml';
import type { SourceText } from '../text/source.ts';
import { addPair, type Splice, type Tree } from './splice.ts';

/** The changes of text that put `text` at `path`; undefined if what is on the way is no map. */
export function setValue(
  path: readonly string[],
  text: string,
  tree: Tree,
  source: SourceText,
): readonly Splice[] | undefined {
  let map = tree;
  for (const [index, key] of path.entries()) {
    const pair = map.items.find((one) => isScalar(one.key) && String(one.key.value) === key);
    const rest = path.slice(index + 1);
    if (pair === undefined) return addPair(map, `${key}: ${nested(rest, text)}`, source);
    const { value } = pair;
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
    const short = isScalar(value) ? LONG[path[0] as string]?.(index, written) : undefined;
    if (short === undefined) return undefined;
    return [{ from, to: end, text: `{ ${short}, ${rest[0]}: ${nested(rest.slice(1), text)} }` }];
  }
  return undefined;
}

/** By the first key: the long form of what is written in short at that depth of the path. */
const LONG: Readonly<Record<string, (depth: number, written: string) => string | undefined>> = {
  parts: (depth, written) => (depth === 1 ? `file: ${written}` : undefined),
  modules: (depth, written) => (depth === 4 ? `steps: ${written}` : undefined),
};

function nested(path: readonly string[], text: string): string {
  return path.reduceRight((inner, key) => `{ ${key}: ${inner} }`, text);
}

function isEmpty(node: Node): boolean {
  return isScalar(node) && node.range?.[0] === node.range?.[1];
}
