/**
 * The lowest and the highest voltage of a node whose resistances and levels may each be off.
 *
 *   V = sum(Gi Vi) / sum(Gi),  Gi = 1 / Ri
 *
 * V is monotone in every one of them: dV/dVi = Gi / sum(G) is never negative, and dV/dGi =
 * (Vi - V) / sum(G) does not change its sign as Gi moves, since V moves toward Vi and never past it.
 * So the extremes lie at corners. The highest has every level at its highest; V is then a weighted
 * mean, highest with the largest weights on the levels above it and the smallest on those below. Cut
 * at each place in the order of the levels, that is n + 1 corners in place of 2^n.
 *
 * Source: monotony of a weighted mean, worked out above; the tests try all corners.
 */

import { largest, smallest } from '../modules/dsp/extremes.ts';

/** A branch whose voltage and conductance lie somewhere in a range. */
export interface BranchSpan {
  /** V. */
  readonly low: number;
  readonly high: number;
  /** Siemens, 0 or more; 0 is open, Infinity is zero ohms. */
  readonly leastSiemens: number;
  readonly mostSiemens: number;
}

export interface Extremes {
  readonly low: number;
  readonly high: number;
}

/**
 * Finds the extremes of a node.
 * @returns V; undefined for a node that floats in every corner. With a branch of zero ohms the node
 *   is that branch; of several that differ, the extremes are the lowest and the highest of them.
 */
export function extremes(spans: readonly BranchSpan[]): Extremes | undefined {
  if (spans.some(isStiff)) {
    const stiff = spans.filter(isStiff);
    return {
      low: smallest(stiff.map(({ low }) => low)),
      high: largest(stiff.map(({ high }) => high)),
    };
  }
  const high = highest(spans.toSorted(fromHighest), (span) => span.high);
  if (high === undefined) return undefined;
  // Turned upside down, the lowest is the highest.
  const low = highest(spans.toSorted(fromLowest), (span) => -span.low) as number;
  return { low: low === 0 ? 0 : -low, high };
}

const isStiff = ({ leastSiemens }: BranchSpan): boolean =>
  leastSiemens === Number.POSITIVE_INFINITY;
const isExact = ({ leastSiemens, mostSiemens }: BranchSpan): boolean =>
  leastSiemens === mostSiemens;
const fromHighest = (a: BranchSpan, b: BranchSpan): number => b.high - a.high;
const fromLowest = (a: BranchSpan, b: BranchSpan): number => a.low - b.low;

/** @param order branches, that of the highest volts first. */
function highest(
  order: readonly BranchSpan[],
  voltsOf: (span: BranchSpan) => number,
): number | undefined {
  let best: number | undefined;
  // Where no conductance has a range, all cuts are one.
  const cuts = order.every(isExact) ? 0 : order.length;
  for (let cut = 0; cut <= cuts; cut++) {
    let current = 0;
    let conductance = 0;
    for (let index = 0; index < order.length; index++) {
      const span = order[index] as BranchSpan;
      const siemens = index < cut ? span.mostSiemens : span.leastSiemens;
      current += siemens * voltsOf(span);
      conductance += siemens;
    }
    if (conductance === 0) continue;
    const volts = current / conductance;
    if (best === undefined || volts > best) best = volts;
  }
  return best;
}

/**
 * How far values may be off: a share of each, from 0 on, except for those that were measured with a stated
 * error. Undefined: not at all, all values being exact.
 */
export type Tolerance = number | undefined;

/**
 * A range for a value, in either direction from zero.
 * @param doubt by how much it may be off whatever the tolerance, if that is stated.
 */
export function around(value: number, tolerance: Tolerance, doubt?: number): Extremes {
  const off = tolerance === undefined ? 0 : (doubt ?? Math.abs(value) * tolerance);
  return { low: value - off, high: value + off };
}
