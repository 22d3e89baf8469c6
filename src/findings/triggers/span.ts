/** Lists of things in time that are known only up to some time. */

import type { WrittenStroke } from './played.ts';

/** How much of the song was looked at. */
export interface SongExtent {
  readonly seconds: number;
  readonly complete: boolean;
  /** Whether it was heard in a rehearsal rather than worked out. */
  readonly heard: boolean;
}

/** A list of things in time, with how much of it is known. */
export interface Observed<T> {
  readonly items: readonly T[];
  readonly span: SongExtent;
}

const ALWAYS: SongExtent = { seconds: Number.POSITIVE_INFINITY, complete: true, heard: false };

/** The span in which all of several are known. */
export function shortest(all: readonly { readonly span: SongExtent }[]): SongExtent {
  return all.reduce((least, { span }) => (span.seconds < least.seconds ? span : least), ALWAYS);
}

/** The strokes of several, in order; undefined unless all are known. */
export function joined(
  all: readonly (Observed<WrittenStroke> | undefined)[],
): Observed<WrittenStroke> | undefined {
  const [first] = all;
  if (first === undefined || all.some((one) => one === undefined)) return undefined;
  const known = all as Observed<WrittenStroke>[];
  if (known.length === 1) return first;
  return {
    items: known.flatMap(({ items }) => items).sort((a, b) => a.sample - b.sample),
    span: shortest(known),
  };
}
