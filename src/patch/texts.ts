/**
 * A patch as texts, wherever they come from: the disk, a browser, a string. Plain data, so that it goes
 * to a worker or a page, which a patch does not: its definitions hold functions.
 */

import type { Definition } from '../modules/definition.ts';
import type { KeptTrees } from './fragment.ts';
import type { Load } from './load.ts';
import { SET_FILE, setSource } from './overrides.ts';
import type { Patch } from './patch.ts';
import { readPatch } from './read.ts';
import { describeProblem } from './text/describe.ts';
import type { Problem } from './text/problem.ts';

export interface PatchTexts {
  /** Name of the patch file, a key of `texts`. */
  readonly main: string;
  /** Another rack than the patch's own, a key of `texts`. */
  readonly rack?: string;
  /** Settings given from outside, as `module.setting=value`. */
  readonly set: readonly string[];
  /**
   * The text of every file that was read, by the name that places have for it. That of a recording is
   * its bytes in base64 (`data:audio/wav;base64,...`).
   */
  readonly texts: Readonly<Record<string, string>>;
}

/** What texts say. */
export interface ReadTexts {
  /** Absent if anything is wrong. */
  readonly patch?: Patch;
  readonly problems: readonly Problem[];
}

/** What was found by following a patch to its files. */
export interface LoadedTexts extends ReadTexts {
  /** The texts of all files that were found, the main one first. */
  readonly texts: PatchTexts;
  /** Files that the patch names and that are not there, or are not read. */
  readonly missing: readonly string[];
}

export interface ReadTextsOptions {
  readonly kinds: readonly Definition[];
  /** Gives a recording, as a text, by its path. Absent: as any other file. */
  readonly loadRecording?: Load;
  /** What earlier readings parsed, for callers that read again and again; this one adds to it. */
  readonly kept?: KeptTrees;
}

/**
 * Reads a patch from its texts. A file that it names and that is not among them is a problem.
 * @param set what is set beside what the texts have, later ones winning.
 */
export function readTexts(
  texts: PatchTexts,
  { kinds, kept, set = [] }: ReadTextsOptions & { readonly set?: readonly string[] },
): ReadTexts {
  const load = (path: string): string | undefined => fileText(texts, path);
  return readPatch(load(texts.main) ?? '', {
    file: texts.main,
    kinds,
    set: [...texts.set, ...set],
    load,
    loadRack: load,
    loadRecording: load,
    ...(kept && { kept }),
    ...(texts.rack !== undefined && {
      rack: { file: texts.rack, text: load(texts.rack) ?? '' },
    }),
  });
}

/**
 * Reads a patch, taking the texts of its files as it comes to their names.
 * @param from its main file, perhaps another rack, and what is set, with the texts of these files.
 * @param load gives the text of a part or a rack that the patch names.
 */
export function loadTexts(
  from: PatchTexts,
  load: Load,
  { kinds, kept, loadRecording = load }: ReadTextsOptions,
): LoadedTexts {
  const found = new Map(Object.entries(from.texts));
  const missing: string[] = [];
  const followed =
    (load: Load): Load =>
    (path) => {
      const text = load(path);
      if (typeof text === 'string') found.set(path, text);
      else missing.push(path);
      return text;
    };
  const follow = followed(load);
  const { main, rack, set } = from;
  const read = readPatch(fileText(from, main) ?? '', {
    file: main,
    kinds,
    set,
    load: follow,
    loadRack: follow,
    loadRecording: followed(loadRecording),
    ...(kept && { kept }),
    ...(rack !== undefined && { rack: { file: rack, text: fileText(from, rack) ?? '' } }),
  });
  return { ...read, texts: { ...from, texts: Object.fromEntries(found) }, missing };
}

/** The text of a file, that of what is set among them; undefined if it has none of that name. */
export function fileText({ texts, set }: PatchTexts, name: string): string | undefined {
  if (name === SET_FILE) return setSource(set);
  return Object.hasOwn(texts, name) ? texts[name] : undefined;
}

/** The same texts with another of the main file. */
export function withText(texts: PatchTexts, main: string): PatchTexts {
  return { ...texts, texts: { ...texts.texts, [texts.main]: main } };
}

/** Whether every file has the same text in both, and the same is set. */
export function haveSameTexts(one: PatchTexts, other: PatchTexts): boolean {
  const names = Object.keys(one.texts);
  return (
    names.length === Object.keys(other.texts).length &&
    names.every((name) => one.texts[name] === other.texts[name]) &&
    one.set.join('\n') === other.set.join('\n')
  );
}

/** Puts a problem into words, with the line that it is in. */
export function describeIn(texts: PatchTexts, problem: Problem): string {
  return describeProblem(problem, (name) => fileText(texts, name));
}

/** What keeps a patch from being heard: it has no output module, or several. */
export function unplayable(patch: Patch): readonly Problem[] {
  const [first, second] = patch.modules.filter(({ definition }) => definition.role === 'output');
  if (first === undefined)
    return [
      {
        code: 'missing',
        place: { file: patch.file, line: 1, column: 1, length: 1 },
        message: 'the patch has no output module, so there is nothing to hear',
        expected: 'out: { kind: output } and a cable to out.left',
      },
    ];
  if (second === undefined) return [];
  const message = 'a patch has one output module; this is another. Mix into one';
  return [{ code: 'duplicate', place: second.place, message }];
}
