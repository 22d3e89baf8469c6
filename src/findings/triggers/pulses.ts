/** Pulses on a wire, as trigger inputs see them. */

import type { GatePulse } from '../../modules/gates.ts';

/**
 * The pulses that a trigger input notices, each from the sample at which it does so: when the pulse
 * has lasted for `needed` samples, that one included.
 */
export function noticed(pulses: readonly GatePulse[], needed: number): readonly GatePulse[] {
  if (needed <= 1) return pulses.filter(({ start, end }) => end > start);
  return pulses
    .filter(({ start, end }) => end - start >= needed)
    .map(({ start, end }) => ({ start: start + needed - 1, end }));
}

/** The last item at or before a sample, by index; -1 if there is none. Items are in order. */
export function lastBy<T>(
  items: readonly T[],
  sampleOf: (item: T) => number,
  sample: number,
): number {
  let low = -1;
  let high = items.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (sampleOf(items[middle] as T) <= sample) low = middle;
    else high = middle - 1;
  }
  return low;
}
