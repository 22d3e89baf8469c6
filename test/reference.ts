/**
 * Published and recomputed values, by topic: each entry of test/reference/TOPIC.json has its source
 * and its tolerance beside it.
 */

import { readFileSync } from 'node:fs';
import { expect } from 'vitest';

type Numbers = Readonly<Record<string, number>>;

export interface Entry<I = Readonly<Record<string, unknown>>, E = Numbers> {
  readonly id: string;
  readonly what: string;
  readonly inputs: I;
  readonly expected: E;
  readonly tolerance: { readonly rel?: number; readonly abs?: number };
}

/** All entries of a topic, whose inputs and expected values have the shape that the caller knows. */
export function references<I = Readonly<Record<string, unknown>>, E = Numbers>(
  topic: string,
): readonly Entry<I, E>[] {
  const file = new URL(`reference/${topic}.json`, import.meta.url);
  return JSON.parse(readFileSync(file, 'utf8'));
}

/**
 * Finds an entry, whose inputs and expected values have the shape that the caller knows.
 * @throws Error if the topic has no entry of that id.
 */
export function reference<I = Readonly<Record<string, unknown>>, E = Numbers>(
  topic: string,
  id: string,
): Entry<I, E> {
  const entry = references<I, E>(topic).find((candidate) => candidate.id === id);
  if (entry === undefined) throw new Error(`no reference ${id} in ${topic}`);
  return entry;
}

/** Gives a number that an entry expects: by its key, or the only one. */
export function expected({ id, expected }: Entry<unknown, unknown>, key?: string): number {
  const value = key === undefined ? expected : (expected as Readonly<Record<string, unknown>>)[key];
  if (typeof value !== 'number') throw new Error(`${id} has no number ${key ?? ''}`);
  return value;
}

/** Expects a number to be an entry's, within the entry's own tolerance. */
export function expectReference(
  actual: number,
  wanted: number,
  { id, tolerance }: Entry<unknown, unknown>,
): void {
  const allowed = tolerance.abs ?? (tolerance.rel ?? 0) * Math.abs(wanted);
  const text = `${id}: got ${actual}, expected ${wanted} within ${allowed}`;
  expect(Math.abs(actual - wanted) <= allowed, text).toBe(true);
}
