/** Pulses on a wire, as trigger inputs see them. */

/** High, or a switch closed, from its first sample to the one before `end`. */
export interface Pulse {
  readonly start: number;
  /** Infinity for one that has not ended when the performance or the rehearsal has. */
  readonly end: number;
}

/**
 * The pulses that a trigger input notices, each from the sample at which it does so: when the pulse
 * has lasted for `needed` samples, that one included.
 */
export function noticed(pulses: readonly Pulse[], needed: number): readonly Pulse[] {
  if (needed <= 1) return pulses;
  return pulses
    .filter(({ start, end }) => end - start >= needed)
    .map(({ start, end }) => ({ start: start + needed - 1, end }));
}

/** High while any of them is: several closures on a wire. */
export function union(trains: readonly (readonly Pulse[])[]): readonly Pulse[] {
  const all = trains.flat().sort((a, b) => a.start - b.start);
  const joined: { start: number; end: number }[] = [];
  for (const { start, end } of all) {
    const last = joined.at(-1);
    // Two that touch leave no low sample between them.
    if (last !== undefined && start <= last.end) last.end = Math.max(last.end, end);
    else joined.push({ start, end });
  }
  return joined;
}

/** What a timer of a fixed length makes of triggers; one that comes while it is on starts it afresh. */
export function stretched(
  triggers: readonly Pulse[],
  length: number,
  retriggers: boolean,
): readonly Pulse[] {
  const made: { start: number; end: number }[] = [];
  for (const { start } of triggers) {
    const last = made.at(-1);
    if (last === undefined || start > last.end) made.push({ start, end: start + length });
    else if (retriggers || start === last.end) last.end = start + length;
  }
  return made;
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
