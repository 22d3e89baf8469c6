/**
 * The words of a file, kept beside the values that they give, so that what a person wrote is shown as it
 * was written (`0.4 ms`, `[C2, Eb2]`), and read again gives the same value to the last bit.
 */

import type { Entry, MapNode, Node } from './text/nodes.ts';

/** Values by their keys, each in one line. */
export type Words = ReadonlyMap<string, string>;

/** What the files say of a module: its own, or where it leaves a setting out, the rack's. */
export interface WrittenModule {
  /** Settings, but for those of the score. */
  readonly settings: Words;
  /** Each row of settings that are rows, as `rows.pitch`. */
  readonly rows: Words;
  /** In the order of the module's patterns. */
  readonly patterns: readonly WrittenPattern[];
  /** What each entry of the song has of its own, in the order of the song. */
  readonly song: readonly Words[];
}

/** What a pattern says besides its lines, that of the pattern it starts from included. */
export interface WrittenPattern {
  readonly words: Words;
  /** In the order of the pattern's lines. */
  readonly lines: readonly WrittenLine[];
}

export interface WrittenLine {
  /** Its drum tab, with the spaces and bars that it has. */
  readonly tab: string;
  /** What it says besides its steps. */
  readonly words: Words;
  /** What its `at` says of single steps, by their numbers from 1. */
  readonly at: ReadonlyMap<number, Words>;
}

/** The words of a value; a list as `[C2, Eb2]`, a map as `{ pitch: [C2, Eb2] }`. */
export function wordsOfNode(node: Node): string {
  if (node.type === 'text') return node.text.trim().replace(/\s+/g, ' ');
  if (node.type === 'list') return `[${node.items.map(wordsOfNode).join(', ')}]`;
  if (node.type === 'broken') return '';
  if (node.entries.length === 0) return '{}';
  return `{ ${node.entries.map(({ key, value }) => `${key}: ${wordsOfNode(value)}`).join(', ')} }`;
}

/** The words of those entries of a map that are wanted. */
export function wordsIn({ entries }: MapNode, isWanted: (key: string) => boolean): Words {
  return new Map(
    entries
      .filter(({ key }) => isWanted(key))
      .map(({ key, value }: Entry) => [key, wordsOfNode(value)]),
  );
}
