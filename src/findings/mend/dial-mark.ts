/** Where to turn a knob for a value: a mark on its dial that a hand can find. */

import { type DialTable, positionOf, valueAt } from '../../patch/rack/dial.ts';

export interface DialMark {
  /** `dial 6.3`, as a patch writes it. */
  readonly text: string;
  /** What it stands for, in the unit of the quantity. */
  readonly value: number;
}

/**
 * The first tenth of a division that gives no less than a value; where the dial ends before that, its end.
 * @returns undefined for what is not on the dial.
 */
export function markFor(table: DialTable, value: number): DialMark | undefined {
  const exact = positionOf(table, value);
  if (exact === undefined) return undefined;
  const [first, last] = [table.points[0], table.points.at(-1)];
  const isRising = (last?.value ?? 0) > (first?.value ?? 0);
  // A tenth that is meant is not missed for the last bit of a logarithm.
  const tenths = isRising ? Math.ceil(10 * exact - 1e-6) : Math.floor(10 * exact + 1e-6);
  const position = tenths / 10;
  const given = valueAt(table, position);
  return given === undefined
    ? { text: `dial ${exact}`, value }
    : { text: `dial ${position}`, value: given };
}
