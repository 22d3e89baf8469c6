/** The values of a file by their paths, as they are written and unchecked. */

import { isMap, isScalar, isSeq, type Node, parseDocument } from 'yaml';
import { type SourceText, sourceOf } from '../text/source.ts';
import type { Tree } from './splice.ts';

/** A value as the file has it. */
export interface WrittenValue {
  /** The text of a scalar without its quotation marks; undefined for a list or a map. */
  readonly text?: string;
  /** Its entries, each in one line of flow style, if it is a map. */
  readonly entries?: ReadonlyMap<string, string>;
}

/** The values of one text. */
export class WrittenValues {
  private readonly tree: Tree | undefined;
  private readonly source: SourceText;

  constructor(text: string) {
    this.source = sourceOf('', text);
    const document = parseDocument(this.source.text, { schema: 'failsafe', logLevel: 'silent' });
    const { contents } = document;
    this.tree = document.errors.length === 0 && isMap(contents) ? (contents as Tree) : undefined;
  }

  /** Undefined where the text has nothing. Items of a list go by their numbers from 0. */
  at(path: readonly string[]): WrittenValue | undefined {
    let node: Node | null | undefined = this.tree;
    for (const key of path) {
      if (isSeq(node)) {
        node = node.items[Number(key)] as Node | undefined;
        continue;
      }
      if (!isMap(node)) return undefined;
      node = (node as Tree).items.find(
        (one) => isScalar(one.key) && String(one.key.value) === key,
      )?.value;
    }
    if (node === undefined || node === null) return undefined;
    if (isScalar(node)) return { text: String(node.value) };
    if (!isMap(node)) return {};
    return {
      entries: new Map(
        (node as Tree).items.map(({ key, value }) => [
          isScalar(key) ? String(key.value) : '',
          value === null ? '' : this.flow(value),
        ]),
      ),
    };
  }

  private flow(node: Node): string {
    if (isMap(node)) {
      const pairs = (node as Tree).items.map(
        ({ key, value }) => `${this.flow(key)}: ${value === null ? '' : this.flow(value)}`,
      );
      return `{ ${pairs.join(', ')} }`;
    }
    if (isSeq(node)) return `[${node.items.map((item) => this.flow(item as Node)).join(', ')}]`;
    const [from, to] = node.range ?? [0, 0];
    const written = this.source.text.slice(from, to);
    // What goes over several lines is written as one; a text in quotation marks can hold anything.
    return /[\r\n]/.test(written) && isScalar(node) ? JSON.stringify(String(node.value)) : written;
  }
}
