/**
 * How wide words are, without a browser to ask: those of DejaVu Sans, the widest of the faces that a
 * page's letters come in, so that no name runs out of its box.
 *
 * Source: advance widths of DejaVu Sans 2.37, as Chromium measures them, rounded up to twentieths of an em.
 */

import { wholeWords } from '../../patch/text/whole-words.ts';

const NARROW = /[fijltrI.,:;'|! ()[\]/-]/;
const BROAD = /[mwMW%@]/;
/** Latin and the like; what is neither may be as wide as it is high. */
const USUAL = /[\u0020-\u024f\u0370-\u04ff]/;
const BOLD = 1.13;

/** Where a word that is wider than its line may be broken: after a mark, otherwise anywhere. */
const MARK = /[./,:_-]/;

/** Breaks words into lines no wider than so many px. @param size of the letters, px. */
export function broken(words: string, width: number, size: number, isBold = false): string[] {
  const fits = (text: string): boolean => widthOf(text, size, isBold) <= width;
  const made: string[] = [];
  let line = '';
  // A number and its unit stay together where the line is wide enough for both.
  const all = wholeWords(words).flatMap((word) => (fits(word) ? [word] : word.split(/\s+/)));
  for (let word of all) {
    if (line !== '' && fits(`${line} ${word}`)) {
      line = `${line} ${word}`;
      continue;
    }
    if (line !== '') made.push(line);
    while (!fits(word) && word.length > 1) {
      const at = breakOf(word, fits);
      made.push(word.slice(0, at));
      word = word.slice(at);
    }
    line = word;
  }
  return line === '' ? made : [...made, line];
}

/** How many letters of a word stay on the line: as many as fit, up to the last mark among them. */
function breakOf(word: string, fits: (text: string) => boolean): number {
  let most = 1;
  while (most < word.length && fits(word.slice(0, most + 1))) most++;
  for (let at = most; at > 1; at--) if (MARK.test(word[at - 1] as string)) return at;
  return most;
}

/** The width of a line of text, px. @param size of its letters, px. */
export function widthOf(words: string, size: number, isBold = false): number {
  let ems = 0;
  for (const letter of words)
    ems += NARROW.test(letter)
      ? 0.4
      : BROAD.test(letter)
        ? 1
        : /[A-Z]/.test(letter)
          ? 0.75
          : USUAL.test(letter)
            ? 0.625
            : 1.05;
  return ems * size * (isBold ? BOLD : 1);
}
