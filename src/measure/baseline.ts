/**
 * The level that a recording rests at, as it wanders: through the steady levels of stretches (`steady-level.ts`) that
 * overlap by half runs a cubic fitted to those nearby, in which the quiet ones count most. A stroke has a mean of its
 * own, and would be taken for drift otherwise. Source of such a fit: W. S. Cleveland, Robust Locally Weighted
 * Regression and Smoothing Scatterplots, J. Am. Stat. Assoc. 74 (1979) 829-836 (from memory).
 */

import { eliminate } from './hits/decay-model.ts';

/** Where a stretch rests, by how much that rises to the next, and how that rise goes on. */
export interface Rest {
  readonly level: number;
  readonly slope: number;
  /** The terms of second and third order. */
  readonly bend: number;
  readonly twist: number;
}

/** Stretches to each side that a level is fitted to, and the terms of the fit. */
const REACH = 4;
const TERMS = 4;
/** Mean square under which a stretch is inaudible. */
const SILENT = 1e-9;
/**
 * The part of a bend in the mean under a Hann window: the window's variance, 1/12 - 1/(2 pi^2) of its squared
 * length, in units of half its length.
 */
const BENT = 4 * (1 / 12 - 1 / (2 * Math.PI ** 2));

/** The mean square of samples about a level. */
export function powerAbout(level: number, samples: Float64Array): number {
  return samples.reduce((sum, x) => sum + (x - level) ** 2, 0) / samples.length;
}

/**
 * Where each stretch rests.
 * @param levels the steady level of each, and `powers` the mean square about it, 1 being full scale.
 */
export function baselineOf(levels: readonly number[], powers: readonly number[]): readonly Rest[] {
  const quietest = powers.reduce(
    (least, power) => Math.min(least, power),
    Number.POSITIVE_INFINITY,
  );
  // With few stretches a bend is less certain.
  const terms = Math.min(TERMS, levels.length);
  return levels.map((_, k) => {
    const matrix = Array.from({ length: terms }, () => new Float64Array(terms));
    const right = new Float64Array(terms);
    for (let n = Math.max(0, k - REACH); n <= Math.min(levels.length - 1, k + REACH); n++) {
      const t = n - k;
      const near = (1 - (Math.abs(t) / (REACH + 1)) ** 3) ** 3;
      const weight = near / ((powers[n] as number) + quietest + SILENT);
      for (let i = 0; i < terms; i++) {
        right[i] = (right[i] as number) + weight * t ** i * (levels[n] as number);
        const row = matrix[i] as Float64Array;
        for (let j = 0; j < terms; j++) row[j] = (row[j] as number) + weight * t ** (i + j);
      }
    }
    const [level = 0, slope = 0, bend = 0, twist = 0] = eliminate(matrix, right);
    // The mean under a window has a part of every second derivative: of the slope's too.
    return { level: level - BENT * bend, slope: slope - 3 * BENT * twist, bend, twist };
  });
}
