/** Published values, by topic: see the files in test/reference. */

import { readFileSync } from 'node:fs';

export interface Entry {
  readonly id: string;
  readonly what: string;
  readonly inputs: Readonly<Record<string, unknown>>;
  readonly expected: Readonly<Record<string, number>>;
}

/**
 * Finds an entry.
 * @throws Error if the topic has no entry of that id.
 */
export function reference(topic: string, id: string): Entry {
  const text = readFileSync(new URL(`reference/${topic}.json`, import.meta.url), 'utf8');
  const entries: Entry[] = JSON.parse(text);
  const entry = entries.find((candidate) => candidate.id === id);
  if (entry === undefined) throw new Error(`no reference ${id} in ${topic}`);
  return entry;
}

/** One expected number of an entry. */
export function expected(entry: Entry, key: string): number {
  const value = entry.expected[key];
  if (value === undefined) throw new Error(`${entry.id} has no ${key}`);
  return value;
}
