/** Collects the problems of one reading, so that a person sees all of them in one run. */

import { printable } from '../../text/printable.ts';
import { nearest, shortList } from './nearest.ts';
import type { Place } from './place.ts';
import type { Problem, ProblemCode, Rewrite } from './problem.ts';

/** More than anyone reads; a file this wrong is another kind of file. */
const MAX_PROBLEMS = 1000;

export interface Advice {
  readonly expected?: string | undefined;
  readonly nearest?: string | undefined;
  readonly rewrite?: Rewrite | undefined;
}

export class Report {
  #problems: Problem[] = [];
  #seen = new Set<string>();
  #count = 0;

  /** How often something was wrong so far; a problem noted once may have been met several times. */
  get count(): number {
    return this.#count;
  }

  /** Notes a problem; the same one again (of a part that is used twice) is noted once. */
  add(code: ProblemCode, place: Place, message: string, advice: Advice = {}): void {
    this.#count++;
    if (this.#problems.length >= MAX_PROBLEMS) return;
    const key = `${place.file}\n${place.line}:${place.column}\n${code}\n${message}`;
    if (this.#seen.has(key)) return;
    this.#seen.add(key);
    this.#problems.push({
      code,
      place,
      message,
      ...(advice.expected !== undefined && { expected: advice.expected }),
      ...(advice.nearest !== undefined && { nearest: advice.nearest }),
      ...(advice.rewrite !== undefined && { rewrite: advice.rewrite }),
    });
  }

  /** Notes a name that is not there, with the nearest legal one and the legal ones if few. */
  unknown(
    code: ProblemCode,
    place: Place,
    message: string,
    word: string,
    legal: readonly string[],
  ): void {
    // Finding the nearest of many names takes a while, and nobody would read it.
    const full = this.#problems.length >= MAX_PROBLEMS;
    const advice = full ? {} : { expected: shortList(legal), nearest: nearest(word, legal) };
    this.add(code, place, message, advice);
  }

  /** The problems from top to bottom: those of `main` first, then file by file as they came up. */
  sorted(main: string): readonly Problem[] {
    const files = new Map<string, number>([[main, 0]]);
    for (const { place } of this.#problems) {
      if (!files.has(place.file)) files.set(place.file, files.size);
    }
    return this.#problems.toSorted(
      (a, b) =>
        (files.get(a.place.file) as number) - (files.get(b.place.file) as number) ||
        a.place.line - b.place.line ||
        a.place.column - b.place.column,
    );
  }
}

/** A word of the file in quotation marks, cut if long and safe to print. */
export function quoted(text: string): string {
  const cut = text.length > 40 ? `${text.slice(0, 39)}…` : text;
  return `"${printable(cut)}"`;
}
