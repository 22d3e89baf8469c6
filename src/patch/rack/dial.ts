/**
 * Dials: what a knob's positions stand for, as measured, and the way between them.
 *
 *   on a log scale   value = v0 (v1 / v0)^((p - p0) / (p1 - p0))
 *   linear           value = v0 + (v1 - v0) (p - p0) / (p1 - p0)
 *
 * between the two nearest measured positions. Times, frequencies and other quantities that knobs
 * cover in ratios go on the log scale; percentages, decibels, volts and intervals are linear, and so
 * is a stretch that touches zero or crosses it.
 */

import type { Quantity } from '../../modules/definition.ts';
import { isInRatios } from '../units.ts';

export interface DialTable {
  readonly quantity: Quantity;
  /** Two or more, in order of their positions, which differ; the values rise or fall throughout. */
  readonly points: readonly DialPoint[];
}

export interface DialPoint {
  readonly position: number;
  /** In the unit of the quantity. */
  readonly value: number;
}

/** A setting that the patch gives as the position of a knob. */
export const DIAL = /^dial\s*([-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+))$/;

/**
 * Significant digits kept of a value. Engines of JavaScript may differ in the last bits of a
 * logarithm; with these cut off, a patch gives the same samples everywhere.
 */
const DIGITS = 9;

/** The value at a position; undefined outside the measured positions. */
export function valueAt(table: DialTable, position: number): number | undefined {
  const after = table.points.findIndex((point) => point.position >= position);
  const right = table.points[after];
  if (right === undefined) return undefined;
  if (right.position === position) return right.value;
  const left = table.points[after - 1];
  if (left === undefined) return undefined;
  const share = (position - left.position) / (right.position - left.position);
  const value = inRatios(table, left, right)
    ? left.value * Math.exp(share * Math.log(right.value / left.value))
    : left.value + share * (right.value - left.value);
  return Number(value.toPrecision(DIGITS));
}

/** The position for a value, for a sheet to print; undefined outside the measured values. */
export function positionOf(table: DialTable, value: number): number | undefined {
  // A value that `valueAt` rounded may lie a little beyond what was measured.
  const near = table.points.find(
    (point) => Math.abs(point.value - value) <= Math.abs(point.value) * 10 ** (1 - DIGITS),
  );
  if (near !== undefined) return near.position;
  for (const [index, right] of table.points.entries()) {
    const left = table.points[index - 1];
    if (left === undefined || (left.value - value) * (right.value - value) > 0) continue;
    const share = inRatios(table, left, right)
      ? Math.log(value / left.value) / Math.log(right.value / left.value)
      : (value - left.value) / (right.value - left.value);
    return Number((left.position + share * (right.position - left.position)).toPrecision(DIGITS));
  }
  return undefined;
}

function inRatios({ quantity }: DialTable, left: DialPoint, right: DialPoint): boolean {
  return isInRatios(quantity) && left.value > 0 && right.value > 0;
}
