/**
 * Spreads values between two ends, by equal steps where the ear or the panel counts in steps, otherwise by equal
 * ratios.
 */

import type { Quantity } from '../modules/definition.ts';
import { isInRatios } from '../patch/units.ts';

/** As fine as a dial can be set. */
const DIGITS = 4;
const MOST_DIGITS = 6;

/**
 * Spreads `count` values from one end to the other, both included: v(i) = a + (b - a) i / (n - 1), or
 * v(i) = a (b / a)^(i / (n - 1)). Those between are rounded to four digits, more if they would fall
 * together, and to whole numbers if only these are allowed.
 */
export function spread(from: number, to: number, count: number, quantity: Quantity): number[] {
  const exact = Array.from({ length: count }, (_, index) => {
    const share = index / (count - 1);
    return isInRatios(quantity) ? from * (to / from) ** share : from + (to - from) * share;
  });
  if (quantity === 'count') return ended(exact.map(Math.round), from, to);
  for (let digits = DIGITS; ; digits++) {
    const rounded = exact.map((value) => roundedTo(value, digits, Math.abs(to - from)));
    const values = ended(rounded, from, to);
    if (digits === MOST_DIGITS || new Set(values).size === count) return values;
  }
}

function ended(values: number[], from: number, to: number): number[] {
  return [from, ...values.slice(1, -1), to];
}

/** Near zero, the sum of two large ends leaves only rounding errors. */
function roundedTo(value: number, digits: number, span: number): number {
  if (Math.abs(value) < span * 1e-9) return 0;
  return Number(value.toPrecision(digits));
}
