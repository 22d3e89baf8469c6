/** The texts of a patch as the page takes them. */

import type { PatchTexts } from '../../patch/texts.ts';

/**
 * Names files from the folder that they share, so that a sheet does not reveal where on a disk they were.
 * The names by which the files refer to one another still hold. A rack from elsewhere keeps only its base name.
 */
export function withoutFolders(files: PatchTexts): PatchTexts {
  const { main, rack, texts } = files;
  const named = Object.keys(texts);
  const folders = named.filter((name) => name !== rack).map(folderOf);
  const shared = folders.reduce(sharedStart);
  const isElsewhere = (name: string): boolean =>
    shared === '' ? /^(?:\.\.)?\//.test(name) : !name.startsWith(shared);
  const short = (name: string): string =>
    name.slice(name === rack && isElsewhere(name) ? folderOf(name).length : shared.length);
  if (new Set(named.map(short)).size < named.length) return files;
  return {
    ...files,
    main: short(main),
    ...(rack !== undefined && { rack: short(rack) }),
    texts: Object.fromEntries(named.map((name) => [short(name), texts[name] as string])),
  };
}

/** With the slash at its end. */
function folderOf(name: string): string {
  return name.slice(0, name.lastIndexOf('/') + 1);
}

/** The folder that two folders lie in. */
function sharedStart(one: string, other: string): string {
  let length = 0;
  while (length < one.length && one[length] === other[length]) length++;
  return folderOf(one.slice(0, length));
}

/** Reads texts that a page sends; undefined if the value is not of that form. */
export function sentFiles(value: unknown): PatchTexts | undefined {
  if (typeof value !== 'object' || value === null) return undefined;
  const { main, rack, set, texts } = value as Record<string, unknown>;
  if (typeof main !== 'string' || !isTexts(texts)) return undefined;
  if (rack !== undefined && typeof rack !== 'string') return undefined;
  if (!Array.isArray(set) || !set.every((one) => typeof one === 'string')) return undefined;
  return { main, ...(rack !== undefined && { rack }), set, texts };
}

/** Whether a value is a map of texts by their names. */
export function isTexts(value: unknown): value is Record<string, string> {
  return (
    typeof value === 'object' &&
    value !== null &&
    !Array.isArray(value) &&
    Object.values(value).every((text) => typeof text === 'string' && !/\p{Cs}/u.test(text))
  );
}
