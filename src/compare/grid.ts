/** The grid of variants: each recording, and each patch with every value of one setting with every value of the others. */

import { isJackText } from '../patch/overrides.ts';
import type { PatchTexts } from '../patch/texts.ts';
import type { VariantSource } from './task.ts';
import { ComparisonError, type Variation } from './vary.ts';

/** The most variants: more than anyone compares. */
export const MOST_VARIANTS = 1024;
/** The most letters of a file's name. */
const LONGEST = 80;

export interface Variant {
  readonly heard: VariantSource;
  /** Counted from 1. */
  readonly number: number;
  /** For people: the values, and the settings' names where several are varied. */
  readonly name: string;
  /** Name of its patch or recording, where there are several. */
  readonly source?: string;
  /** Value by path. */
  readonly settings: Readonly<Record<string, string>>;
  /** File name of its clip. */
  readonly file: string;
}

/** A patch whose variants are compared, or a recording, which is a single variant. */
export interface Varied {
  readonly source:
    | { readonly type: 'patch'; readonly written: PatchTexts }
    | { readonly type: 'recording'; readonly path: string };
  readonly variations: readonly Variation[];
  /** For people, where there are several. */
  readonly name?: string;
}

/**
 * Lays out the grid: every patch with every value of one setting, with every value of the others, the
 * last setting changing fastest.
 * @throws ComparisonError if it has more than {@link MOST_VARIANTS} variants.
 */
export function gridOf(patches: readonly Varied[]): readonly Variant[] {
  const sizes = patches.map(({ variations }) =>
    variations.reduce((product, { values }) => product * values.length, 1),
  );
  const count = sizes.reduce((sum, size) => sum + size, 0);
  if (count > MOST_VARIANTS) {
    const [{ variations } = { variations: [] }] = patches;
    const times = variations.map(({ values }) => values.length).join(' times ');
    const of = patches.length > 1 ? ` for each of ${patches.length} patches` : '';
    throw new ComparisonError(
      `That is a grid of ${count} variants (${times}${of}), and at most ${MOST_VARIANTS} are compared. Take fewer values.`,
    );
  }
  const digits = Math.max(2, String(count).length);
  const chosen = patches.flatMap((patch, index) =>
    Array.from({ length: sizes[index] as number }, (_, at) => ({
      patch,
      chosen: valuesAt(at, patch.variations),
    })),
  );
  return chosen.map(({ patch: { source, name }, chosen }, index) => {
    const number = index + 1;
    const values = chosen.map(({ path, value }) =>
      isJackText(value) ? `${value} -> ${path}` : `${path} ${value}`,
    );
    const named = [...(name === undefined ? [] : [name]), ...values];
    const set = chosen.map(({ path, value }) => `${path}=${value}`);
    return {
      heard: source.type === 'patch' ? { ...source, set } : source,
      number,
      name: named.join(', '),
      ...(name !== undefined && { source: name }),
      settings: Object.fromEntries(chosen.map(({ path, value }) => [path, value])),
      file: `${String(number).padStart(digits, '0')}-${fileWords(name ?? '', values)}.wav`,
    };
  });
}

interface ChosenValue {
  readonly path: string;
  readonly value: string;
}

/** The values of the variant at `index` among those of its patch. */
function valuesAt(index: number, variations: readonly Variation[]): readonly ChosenValue[] {
  let rest = index;
  return variations
    .toReversed()
    .map(({ path, values }) => {
      const value = values[rest % values.length] as string;
      rest = Math.floor(rest / values.length);
      return { path, value };
    })
    .toReversed();
}

/**
 * The words of a file's name. Where they are too many, the source is cut, since the values tell the variants apart, and
 * then the longest of the values; the number before them keeps the names apart.
 */
function fileWords(source: string, values: readonly string[]): string {
  const parts = values.map(slug);
  const lengthAt = (most: number): number =>
    parts.reduce((sum, part) => sum + 1 + Math.min(part.length, most), -1);
  let most = LONGEST;
  while (most > 1 && lengthAt(most) > LONGEST) most--;
  const last = parts
    .map((part) => part.slice(0, most))
    .join('-')
    .slice(0, LONGEST);
  const first = slug(source).slice(0, Math.max(0, LONGEST - last.length - 1));
  return [first, last].filter(Boolean).join('-') || 'variant';
}

/** Letters, digits, dots and hyphens, which every file system takes. */
function slug(words: string): string {
  return (
    words
      .replace(/ß/g, 'ss')
      // Letters without their accents.
      .normalize('NFD')
      .replace(/\p{M}+/gu, '')
      .replace(/μ|\u00B5/g, 'u')
      .replace(/%/g, 'percent')
      // A hyphen before a number; before the steps of a pattern, such as -2--, it is a rest.
      .replace(/(^|\s)-(?=[\d.]+(\s|percent|$))/g, '$1minus')
      .replace(/^[^A-Za-z0-9]+|[^A-Za-z0-9-]+$/g, '')
      // The rests of a pattern stay as many as they are.
      .replace(/\s*->\s*|[^A-Za-z0-9.-]+/g, '-')
  );
}
