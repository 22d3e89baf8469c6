/**
 * Names of files that every system takes: small letters of ASCII, digits and hyphens, not too long, none twice.
 * Every name has a hyphen in it, so that it is not one that some systems reserve for devices.
 */

/** Letters of a word that are kept. */
const LONGEST = 40;

export class FileNames {
  private readonly taken = new Set<string>();

  /**
   * Makes a name of words, with a number behind it if it is taken.
   * @param words two at least.
   */
  take(words: readonly string[], ending: string): string {
    const stem = words.map(plain).join('-');
    let name = `${stem}${ending}`;
    for (let count = 2; this.taken.has(name); count++) name = `${stem}-${count}${ending}`;
    this.taken.add(name);
    return name;
  }
}

/** A letter with a mark is the letter. */
function plain(word: string): string {
  const letters = word
    .normalize('NFKD')
    .replace(/\p{M}+/gu, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .slice(0, LONGEST)
    .replace(/^-+|-+$/g, '');
  return letters === '' ? 'x' : letters;
}
