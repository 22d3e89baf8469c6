/** The published values that these tests use. */

import { readFileSync } from 'node:fs';

interface Entry {
  readonly id: string;
  readonly expected: unknown;
  readonly tolerance: unknown;
}

const ENTRIES: readonly Entry[] = JSON.parse(
  readFileSync(new URL('../reference/measure.json', import.meta.url), 'utf8'),
);

/** A number of an entry, by its key, or the entry's only number. */
export function value(id: string, key?: string): number {
  const entry = ENTRIES.find((candidate) => candidate.id === id);
  if (entry === undefined) throw new Error(`no reference ${id}`);
  const found =
    key === undefined ? entry.expected : (entry.expected as Record<string, unknown>)[key];
  if (typeof found !== 'number') throw new Error(`${id} has no number ${key ?? ''}`);
  return found;
}
