/**
 * Changes to a patch file that leave its comments and its layout as they are: the text is cut and
 * pasted at the places that the YAML document gives, and never written again.
 */

import { isMap, isScalar, isSeq, type Node, parseDocument } from 'yaml';
import type { Place } from '../text/place.ts';
import type { Rewrite } from '../text/problem.ts';
import { type SourceText, sourceOf, withoutMark } from '../text/source.ts';
import { changeList } from './edit-list.ts';
import { removeValue, setValue } from './edit-value.ts';
import type { ListChange } from './list-change.ts';
import {
  addPair,
  lineEnd,
  newline,
  replacePairs,
  type Splice,
  type Tree,
  textEnd,
} from './splice.ts';

/**
 * One change. In cables, `{from}` and `{to}` stand for the two ends as the file writes them, and
 * `{to:JACK}` for another jack of the module at the end.
 */
export type Edit =
  /** A module of this name in that file: `text` is its value, such as `{ kind: multiple }`. */
  | {
      readonly type: 'add-module';
      readonly file: string;
      readonly name: string;
      readonly text: string;
    }
  | { readonly type: 'add-cable'; readonly file: string; readonly text: string }
  /** Other cables in place of one. */
  | { readonly type: 'replace-cable'; readonly place: Place; readonly texts: readonly string[] }
  | Rewrite
  /** A setting that a module does not give yet; `place` is that of the module's name. */
  | {
      readonly type: 'add-setting';
      readonly place: Place;
      readonly setting: string;
      readonly text: string;
    }
  /** A value at a path of keys such as `modules`, `shape`, `decay`. */
  | {
      readonly type: 'set-value';
      readonly file: string;
      readonly path: readonly string[];
      readonly text: string;
      /** The same as lines under their key, for where it is new in a map of lines. */
      readonly block?: readonly string[];
    }
  /** Removes a value; the first `stays` keys of its path stay, even when empty. */
  | {
      readonly type: 'remove-value';
      readonly file: string;
      readonly path: readonly string[];
      readonly stays: number;
    }
  /** Other items of the list at a path of keys. */
  | {
      readonly type: 'change-list';
      readonly file: string;
      readonly path: readonly string[];
      readonly change: ListChange;
    };

/** The file that an edit changes. */
export function fileOf(edit: Edit): string {
  return 'file' in edit ? edit.file : edit.place.file;
}

/**
 * Makes changes to the text of one file.
 * @param edits for this file, no two of them at one place.
 * @returns the new text, or undefined if a place is not there or the text is not a patch.
 */
export function applyEdits(file: string, text: string, edits: readonly Edit[]): string | undefined {
  const mark = text.length - withoutMark(text).length;
  const source = sourceOf(file, text);
  const document = parseDocument(source.text, { schema: 'failsafe', logLevel: 'silent' });
  const root = document.contents;
  if (document.errors.length > 0 || !isMap(root)) return undefined;
  const tree = root as Tree;
  const splices: Splice[] = [];
  for (const edit of edits) {
    const made = spliceFor(edit, tree, source);
    if (made === undefined) return undefined;
    for (const splice of made) splices.push(splice);
  }
  // From the end, so that earlier offsets stay true; of two at one place the first stays first.
  const ordered = splices
    .map((splice, index) => ({ ...splice, index }))
    .sort((a, b) => b.from - a.from || b.index - a.index);
  let changed = source.text;
  for (const { from, to, text: put } of ordered)
    changed = changed.slice(0, from) + put + changed.slice(to);
  return text.slice(0, mark) + changed;
}

function spliceFor(edit: Edit, tree: Tree, source: SourceText): readonly Splice[] | undefined {
  switch (edit.type) {
    case 'add-module': {
      const modules = valueAt(tree, 'modules');
      if (modules === undefined) return addTop(`modules`, `${edit.name}: ${edit.text}`, source);
      return isMap(modules)
        ? addPair(modules as Tree, `${edit.name}: ${edit.text}`, source)
        : undefined;
    }
    case 'add-cable':
      return addCable(edit.text, tree, source);
    case 'replace-cable':
      return replaceCable(edit.place, edit.texts, tree, source);
    case 'replace-text': {
      const from = offsetOf(source, edit.place);
      return [{ from, to: from + edit.place.length, text: edit.text }];
    }
    case 'add-setting': {
      const module = moduleAt(edit.place, tree, source);
      return module && addPair(module, `${edit.setting}: ${edit.text}`, source);
    }
    case 'replace-settings': {
      const module = moduleAt(edit.place, tree, source);
      return module && replacePairs(module, edit.settings, edit.texts, source);
    }
    case 'set-value':
      return setValue(edit, tree, source);
    case 'remove-value':
      return removeValue(edit.path, edit.stays, tree, source);
    case 'change-list':
      return changeList(edit.path, edit.change, tree, source);
  }
}

/** The settings of the module whose name stands at the place. */
function moduleAt(place: Place, tree: Tree, source: SourceText): Tree | undefined {
  const modules = valueAt(tree, 'modules');
  if (!isMap(modules)) return undefined;
  const at = offsetOf(source, place);
  const pair = (modules as Tree).items.find(({ key }) => key.range?.[0] === at);
  return isMap(pair?.value) ? (pair.value as Tree) : undefined;
}

/** A top-level key with one line under it, in front of the cables. */
function addTop(key: string, text: string, source: SourceText): Splice[] {
  const at = /^cables\s*:/m.exec(source.text)?.index ?? source.text.length;
  const end = newline(source);
  return [{ from: at, to: at, text: `${key}:${end}  ${text}${end}${end}` }];
}

function addCable(text: string, tree: Tree, source: SourceText): Splice[] | undefined {
  const cables = valueAt(tree, 'cables');
  if (cables === undefined) {
    const at = source.text.trimEnd().length;
    const end = newline(source);
    return [
      { from: at, to: source.text.length, text: `${end}${end}cables:${end}  - ${text}${end}` },
    ];
  }
  if (!isSeq(cables)) return undefined;
  const last = cables.items.at(-1) as Node | undefined;
  if (last === undefined) {
    const end = (cables.range?.[1] ?? 0) - 1;
    return [{ from: end, to: end, text }];
  }
  const at = textEnd(source, last.range?.[1] ?? 0);
  if (cables.flow) return [{ from: at, to: at, text: `, ${text}` }];
  const line = lineEnd(source, at);
  const item = lead(source, last.range?.[0] ?? 0);
  return [
    { from: line, to: line, text: `${newline(source)}${item}${aligned(text, source, last)}` },
  ];
}

function replaceCable(
  place: Place,
  texts: readonly string[],
  tree: Tree,
  source: SourceText,
): Splice[] | undefined {
  const cables = valueAt(tree, 'cables');
  if (!isSeq(cables)) return undefined;
  const at = offsetOf(source, place);
  const item = cables.items.find((one) => (one as Node).range?.[0] === at) as Node | undefined;
  if (!isScalar(item)) return undefined;
  const [from = '', to = ''] = String(item.value).split('->');
  const other = (jack: string): string => to.trim().replace(/[^.]*$/, jack);
  const filled = texts.map((text) => {
    const ends = text.replace('{from}', from.trim()).replace('{to}', to.trim());
    return aligned(
      ends.replace(/\{to:([^}]*)\}/, (_, jack: string) => other(jack)),
      source,
      item,
    );
  });
  const end = item.range?.[1] ?? at;
  const [first, ...others] = filled;
  if (cables.flow) {
    // A comma after the last cable may stay; two in a row may not.
    const comma = first === undefined ? /^\s*,[ \t]*/.exec(source.text.slice(end)) : null;
    return [{ from: at, to: end + (comma?.[0].length ?? 0), text: filled.join(', ') }];
  }
  const line = lineEnd(source, end);
  if (first === undefined) {
    const start = at - lead(source, at).length;
    const comment = source.text.slice(end, line).trim();
    // What is said beside it stays, in its place.
    if (comment !== '')
      return [{ from: start + lead(source, at).search(/\S|$/), to: line, text: comment }];
    return [
      { from: start, to: Math.min(line + newline(source).length, source.text.length), text: '' },
    ];
  }
  const more = others.map((text) => `${newline(source)}${lead(source, at)}${text}`).join('');
  return [
    { from: at, to: end, text: first },
    { from: line, to: line, text: more },
  ];
}

/** The cable with its arrow under that of `like`, if there is room. */
function aligned(text: string, source: SourceText, like: Node): string {
  const [start, end] = like.range ?? [0, 0];
  const column = source.text.slice(start, end).indexOf('->');
  const [from = '', to = ''] = text.split('->').map((one) => one.trim());
  return `${`${from} `.padEnd(column)}-> ${to}`;
}

/** What stands on the line in front of an item of a list: its indentation and its dash. */
function lead(source: SourceText, at: number): string {
  return source.text.slice(source.text.lastIndexOf('\n', at - 1) + 1, at);
}

function valueAt(map: Tree, key: string): Node | undefined {
  const pair = map.items.find((one) => isScalar(one.key) && one.key.value === key);
  return pair?.value ?? undefined;
}

function offsetOf(source: SourceText, place: Place): number {
  return (source.lineStarts[place.line - 1] ?? 0) + place.column - 1;
}
