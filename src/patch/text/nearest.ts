/** Help with a name that is not there: the nearest legal one, and the legal ones when they are few. */

import { distance } from 'fastest-levenshtein';

/** Edits that still look like a slip of the hand, and their share of the word at most. */
const MAX_EDITS = 3;
const MAX_SHARE = 0.4;
/** Names are at most 40 characters, a part's a few times that; a longer word is no slip. */
const MAX_LENGTH = 200;
const SHORT_LIST = 8;
/** What a sentence of names may hold, and how many it has of more. */
const SENTENCE = 12;
const FEW = 5;

/**
 * The legal name nearest to `word`, the first of several; undefined when none is near. Edits are
 * counted as Levenshtein does, but two neighbours that changed places are one slip, not two. A name
 * that differs only in case is near whatever the distance.
 */
export function nearest(word: string, legal: Iterable<string>): string | undefined {
  if (word.length > MAX_LENGTH) return undefined;
  const limit = Math.min(MAX_EDITS, Math.floor(word.length * MAX_SHARE));
  const folded = word.toLowerCase();
  let best: string | undefined;
  let fewest = limit + 1;
  for (const name of legal) {
    if (name.toLowerCase() === folded) return name;
    if (Math.abs(name.length - word.length) >= fewest) continue;
    const edits = swapped(word, name) ? 1 : distance(word, name);
    if (edits < fewest) {
      best = name;
      fewest = edits;
    }
  }
  return best;
}

/** Whether two neighbouring letters changed places and all else is the same. */
function swapped(a: string, b: string): boolean {
  if (a.length !== b.length) return false;
  let i = 0;
  while (i < a.length && a[i] === b[i]) i++;
  return a[i] === b[i + 1] && a[i + 1] === b[i] && a.slice(i + 2) === b.slice(i + 2);
}

/**
 * The legal names for someone who asked for one that is not there: all of a few, else those that are most like
 * it, and how many more there are.
 * @param all how to see all of them, the rest of a sentence: `"forehear kinds" lists all`.
 */
export function someOf(word: string, legal: readonly string[], all: string): string {
  if (legal.length <= SENTENCE) return legal.join(', ');
  const folded = word.slice(0, MAX_LENGTH).toLowerCase();
  const unlike = (name: string): number => {
    const other = name.toLowerCase();
    let same = 0;
    while (same < folded.length && folded[same] === other[same]) same++;
    // Someone who misremembers the end of a name has its beginning right.
    return distance(folded, other) - 2 * same;
  };
  const few = legal
    .map((name) => ({ name, unlike: unlike(name) }))
    .sort((a, b) => a.unlike - b.unlike)
    .slice(0, FEW)
    .map(({ name }) => name);
  return `${few.join(', ')} and ${legal.length - few.length} more; ${all}`;
}

/** "one of a, b, c" when there are at most eight legal names, undefined when more or none. */
export function shortList(legal: readonly string[]): string | undefined {
  if (legal.length === 0 || legal.length > SHORT_LIST) return undefined;
  return legal.length === 1 ? `"${legal[0]}"` : `one of ${legal.join(', ')}`;
}
