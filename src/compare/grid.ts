/** The grid of variants: every value of one setting with every value of the others. */

import { isJackText } from '../patch/overrides.ts';
import { ComparisonError, type Variation } from './vary.ts';

/** More than anyone compares. */
export const MOST_VARIANTS = 1024;
/** Letters of a file's name. */
const LONGEST = 80;

export interface Variant {
  /** Counted from 1. */
  readonly number: number;
  /** For people: the values, and the settings' names where several are varied. */
  readonly name: string;
  /** Value by path. */
  readonly settings: Readonly<Record<string, string>>;
  /** The same, as overrides. */
  readonly set: readonly string[];
  /** Name of its clip. */
  readonly file: string;
}

/**
 * Lays out the grid; the last setting changes fastest.
 * @throws ComparisonError if it has more than {@link MOST_VARIANTS} variants.
 */
export function gridOf(variations: readonly Variation[]): readonly Variant[] {
  const count = variations.reduce((product, { values }) => product * values.length, 1);
  if (count > MOST_VARIANTS)
    throw new ComparisonError(
      `That is a grid of ${count} variants (${variations.map(({ values }) => values.length).join(' times ')}), and at most ${MOST_VARIANTS} are compared. Take fewer values.`,
    );
  const digits = Math.max(2, String(count).length);
  return Array.from({ length: count }, (_, index) => {
    let rest = index;
    const chosen = variations
      .toReversed()
      .map(({ path, values }) => {
        const value = values[rest % values.length] as string;
        rest = Math.floor(rest / values.length);
        return { path, value };
      })
      .toReversed();
    const number = index + 1;
    const named = chosen.map(({ path, value }) =>
      isJackText(value) ? `${value} -> ${path}` : `${path} ${value}`,
    );
    return {
      number,
      name: named.join(', '),
      settings: Object.fromEntries(chosen.map(({ path, value }) => [path, value])),
      set: chosen.map(({ path, value }) => `${path}=${value}`),
      file: `${String(number).padStart(digits, '0')}-${slug(named.join(' '))}.wav`,
    };
  });
}

/** Letters, digits, dots and hyphens, which every file system takes. */
function slug(words: string): string {
  const plain = words
    .replace(/μ|\u00B5/g, 'u')
    .replace(/%/g, 'percent')
    .replace(/(^|\s)-(?=\d)/g, '$1minus')
    .replace(/[^A-Za-z0-9.]+/g, '-')
    .replace(/^[-.]+|[-.]+$/g, '');
  return plain.slice(0, LONGEST).replace(/[-.]+$/, '') || 'variant';
}
