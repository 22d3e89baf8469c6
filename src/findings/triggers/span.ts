/** Lists of things in time that are known only so far. */

import type { Onset } from './played.ts';

/** How much of the song was looked at. */
export interface Span {
  readonly seconds: number;
  readonly complete: boolean;
  /** Whether it was played, rather than worked out. */
  readonly heard: boolean;
}

/** A list of things in time, with how much of it is known. */
export interface Known<T> {
  readonly items: readonly T[];
  readonly span: Span;
}

const ALWAYS: Span = { seconds: Number.POSITIVE_INFINITY, complete: true, heard: false };

/** The span in which all of several are known. */
export function shortest(all: readonly { readonly span: Span }[]): Span {
  return all.reduce((least, { span }) => (span.seconds < least.seconds ? span : least), ALWAYS);
}

/** The strokes of several, in order; undefined unless all are known. */
export function joined(all: readonly (Known<Onset> | undefined)[]): Known<Onset> | undefined {
  const [first] = all;
  if (first === undefined || all.some((one) => one === undefined)) return undefined;
  const known = all as Known<Onset>[];
  if (known.length === 1) return first;
  return {
    items: known.flatMap(({ items }) => items).sort((a, b) => a.sample - b.sample),
    span: shortest(known),
  };
}
