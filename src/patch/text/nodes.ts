/**
 * A YAML text as the patch reader sees it: texts, lists and maps, each with its place. All scalars
 * are texts (the failsafe schema, YAML 1.2.2, 10.1): what a value means, its setting decides.
 */

import type { Place } from './place.ts';
import { quoted, type Report } from './report.ts';

export type Node = TextNode | ListNode | MapNode | BrokenNode;

export interface TextNode {
  readonly type: 'text';
  readonly text: string;
  readonly place: Place;
  /** The place of a stretch of `text`; of all of it where escapes or line breaks hide the way. */
  readonly within: (from: number, to: number) => Place;
}

export interface ListNode {
  readonly type: 'list';
  readonly items: readonly Node[];
  readonly place: Place;
}

export interface MapNode {
  readonly type: 'map';
  readonly entries: readonly Entry[];
  readonly place: Place;
}

/** Something already reported; readers pass over it in silence. */
export interface BrokenNode {
  readonly type: 'broken';
  readonly place: Place;
}

export interface Entry {
  readonly key: string;
  /** Where the key is written. */
  readonly at: Place;
  readonly value: Node;
}

const NAME = /^[A-Za-z][A-Za-z0-9_-]*$/;
export const MAX_NAME = 40;
export const NAME_RULE = `a letter from a to z, then such letters, digits, "-" or "_", at most ${MAX_NAME} in all`;
/** The same rule for the JSON Schema. */
export const NAME_PATTERN = `^[A-Za-z][A-Za-z0-9_-]{0,${MAX_NAME - 1}}$`;

export function isEmpty(node: Node): boolean {
  return node.type === 'text' && node.text === '';
}

export function entryOf(map: MapNode, key: string): Entry | undefined {
  return map.entries.find((entry) => entry.key === key);
}

/** The map with one entry replaced, or added at its end. */
export function withEntry(map: MapNode, entry: Entry): MapNode {
  const at = map.entries.findIndex(({ key }) => key === entry.key);
  const entries = at < 0 ? [...map.entries, entry] : map.entries.with(at, entry);
  return { ...map, entries };
}

/** Reports `entry` as empty, or as the wrong sort of thing; broken ones are reported already. */
export function reportWrong(entry: Entry, expected: string, report: Report): undefined {
  const { key, at, value } = entry;
  if (value.type === 'broken') return;
  if (isEmpty(value)) report.add('missing', at, `${quoted(key)} has no value`, { expected });
  else {
    const is = value.type === 'text' ? quoted(value.text) : `a ${value.type}`;
    report.add('wrong-type', value.place, `${quoted(key)} cannot be ${is}`, { expected });
  }
}

/** The entry's value as a text that is not empty; anything else is reported. */
export function textOf(entry: Entry, expected: string, report: Report): TextNode | undefined {
  const { value } = entry;
  return value.type === 'text' && value.text !== '' ? value : reportWrong(entry, expected, report);
}

export function listOf(entry: Entry, expected: string, report: Report): ListNode | undefined {
  return entry.value.type === 'list' ? entry.value : reportWrong(entry, expected, report);
}

export function mapOf(entry: Entry, expected: string, report: Report): MapNode | undefined {
  return entry.value.type === 'map' ? entry.value : reportWrong(entry, expected, report);
}

/** Whether `name` may name a module, a part, a channel or a pattern; reports it if not. */
export function checkName(name: string, place: Place, report: Report): boolean {
  if (NAME.test(name) && name.length <= MAX_NAME) return true;
  report.add('wrong-type', place, `${quoted(name)} is not a name`, { expected: NAME_RULE });
  return false;
}
