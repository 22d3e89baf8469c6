/** Published values, by topic and name: test/reference/TOPIC.json says where each is from. */

import { readFileSync } from 'node:fs';

/** Inputs and expected value of an entry, in the shape the caller knows it has. */
export function reference<I, E>(topic: string, id: string): { inputs: I; expected: E } {
  const file = new URL(`../reference/${topic}.json`, import.meta.url);
  const entries = JSON.parse(readFileSync(file, 'utf8')) as { id: string }[];
  const entry = entries.find((one) => one.id === id);
  if (entry === undefined) throw new Error(`no reference ${id}`);
  return entry as unknown as { inputs: I; expected: E };
}
