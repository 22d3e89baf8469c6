/**
 * Tolerances against brute force: every corner of all values that may be off, and the pulses at it by the law of
 * one resistance and capacitance, in real numbers.
 */

import fc from 'fast-check';

export interface Off {
  readonly value: number;
  /** Share by which it may be off; undefined for the tolerance that is asked for. */
  readonly by: number | undefined;
}

export const off = (...values: readonly number[]): fc.Arbitrary<Off> =>
  fc.record({
    value: fc.constantFrom(...values),
    by: fc.constantFrom(undefined, undefined, undefined, 0.04, 0.15),
  });
/** A wire, in ms and V, and the input that it drives. */
export const wireDrawn = {
  rise: off(0, 1, 6, 14),
  high: off(5, 8),
  on: off(1.8, 2.5, 3),
  off: off(0.6, 1.2),
};
export type DrawnWire = { readonly [name in keyof typeof wireDrawn]: Off };

export const said = ({ value, by }: Off, unit: string): string =>
  `${value} ${unit}${by === undefined || value === 0 ? '' : ` +- ${100 * by} %`}`;
export const output = ({ rise, high }: DrawnWire): string =>
  `high: ${said(high, 'V')}${rise.value > 0 ? `, rise: ${said(rise, 'ms')}` : ''}`;
export const input = (one: DrawnWire, shortest: string): string =>
  `{ on: ${said(one.on, 'V')}, off: ${said(one.off, 'V')}, shortest: ${shortest} }`;

export type Pulse = readonly [start: number, end: number];
export const HITS = [0, 0.125, 0.5];

/** Whether the levels of a wire do at every corner; otherwise they are what is told. */
export function isClear({ high, on, off: low }: DrawnWire, tolerance: number): boolean {
  const asked = on.value * (1 + (on.by ?? tolerance));
  return (
    asked / (high.value * (1 - (high.by ?? tolerance))) < 0.9 &&
    low.value * (1 + (low.by ?? tolerance)) < 0.8 * on.value * 0.85
  );
}

/** A wire at one corner: ms, V. */
export interface Wire {
  readonly rise: number;
  readonly high: number;
  readonly on: number;
  readonly off: number;
  /** What the load leaves of the level. */
  readonly kept: number;
}

/**
 * What an input sees of pulses by a wire, s, how late it goes on after an edge from rest, and how near a pulse
 * that it just sees, or just does not, comes to being the other.
 */
export function seen(pulses: readonly Pulse[], { rise, high, on, off: low, kept }: Wire) {
  const tau = rise / 1e3 / Math.log(9);
  const [up, down] = [on / (high * kept), low / (high * kept)];
  let level = 0;
  let last = 0;
  let isOn = false;
  let from = 0;
  let nearest = Number.POSITIVE_INFINITY;
  const found: Pulse[] = [];
  const decayed = (time: number): number => (tau === 0 ? 0 : Math.exp(-time / tau));
  pulses.forEach(([start, end], i) => {
    level *= decayed(start - last);
    if (!isOn) {
      const wait = level >= up ? 0 : tau * Math.log((1 - level) / (1 - up));
      isOn = start + wait < end;
      from = start + wait;
      nearest = Math.min(nearest, Math.abs(end - from));
      // It never gets there.
      if (!isOn) found.push([from, from]);
    }
    level = 1 - (1 - level) * decayed(end - start);
    last = end;
    if (!isOn) return;
    const falls = end + (level > down ? tau * Math.log(level / down) : 0);
    if (falls >= (pulses[i + 1]?.[0] ?? Number.POSITIVE_INFINITY)) return;
    found.push([from, falls]);
    isOn = false;
  });
  return { pulses: found, nearest, late: -tau * Math.log(1 - up) };
}

/** What an inverter makes of pulses. */
export function turned(pulses: readonly Pulse[]): readonly Pulse[] {
  const found: Pulse[] = [];
  let from = 0;
  for (const [start, end] of pulses) {
    if (start > from) found.push([from, start]);
    from = end;
  }
  return [...found, [from, Number.POSITIVE_INFINITY]];
}

/** Every corner of what may be off, each tried by a function that is handed what each value is there. */
export function corners<T>(
  tolerance: number,
  all: readonly Off[],
  loads: number,
  work: (at: (one: Off) => number, kept: () => number) => T,
): readonly T[] {
  const moves = all.filter(({ value, by = tolerance }) => value * by > 0);
  const index = new Map(moves.map((one, i) => [one, i]));
  const count = moves.length + (tolerance > 0 ? loads : 0);
  return Array.from({ length: 2 ** count }, (_, bits) => {
    const sign = (i: number): number => ((bits >> i) & 1 ? 1 : -1);
    const at = (one: Off): number => {
      const i = index.get(one);
      return i === undefined ? one.value : one.value * (1 + sign(i) * (one.by ?? tolerance));
    };
    let next = moves.length;
    const kept = (): number => {
      // 1 kohm into 100 kohm, each off so that less of it is left, or more.
      const side = tolerance > 0 ? sign(next++) * tolerance : 0;
      return (100 * (1 + side)) / (100 * (1 + side) + (1 - side));
    };
    return work(at, kept);
  });
}
