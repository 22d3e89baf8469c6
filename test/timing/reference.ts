/** Looks up published and recomputed values: their sources and tolerances stand beside them. */

import { expect } from 'vitest';
import entries from '../reference/tempo.json' with { type: 'json' };

export interface Entry {
  readonly id: string;
  readonly inputs: Readonly<Record<string, unknown>>;
  readonly expected: unknown;
  readonly tolerance: { readonly rel?: number; readonly abs?: number };
}

/** Gives an entry of test/reference/tempo.json. */
export function reference(id: string): Entry {
  const entry = (entries as readonly Entry[]).find((each) => each.id === id);
  if (entry === undefined) throw new Error(`no reference value ${id}`);
  return entry;
}

/** Expects a number to be an entry's, within the entry's own tolerance. */
export function expectReference(actual: number, expected: number, { id, tolerance }: Entry): void {
  const allowed = tolerance.abs ?? (tolerance.rel ?? 0) * Math.abs(expected);
  const text = `${id}: got ${actual}, expected ${expected} within ${allowed}`;
  expect(Math.abs(actual - expected) <= allowed, text).toBe(true);
}
