/** Gates into and out of a module that runs by itself. */

import type { Solo } from './solo.ts';

export interface Pulse {
  /** The sample at which it is high for the first time. */
  start: number;
  /** Samples; one still on at the end counts up to there. */
  length: number;
}

/** Volts of several outputs while the inputs are driven by `drive(sample)`. */
export function play<F extends string>(
  circuit: Solo,
  fields: readonly F[],
  length: number,
  drive: (sample: number) => readonly number[],
): Record<F, number[]> {
  const volts = Object.fromEntries(fields.map((field) => [field, []])) as unknown as Record<
    F,
    number[]
  >;
  for (let n = 0; n < length; n++) {
    circuit.run(...drive(n));
    for (const field of fields) volts[field].push(circuit[field] as number);
  }
  return volts;
}

/** A gate of 5 V that is high from each of these samples for `length` samples. */
export function gate(starts: readonly number[], length: number): (sample: number) => number {
  return (n) => (starts.some((start) => n >= start && n < start + length) ? 5 : 0);
}

/** The stretches in which an output is above 0 V. */
export function pulses(volts: readonly number[]): Pulse[] {
  const found: Pulse[] = [];
  volts.forEach((now, n) => {
    if (!(now > 0)) return;
    const last = found.at(-1);
    if (last !== undefined && last.start + last.length === n) last.length += 1;
    else found.push({ start: n, length: 1 });
  });
  return found;
}

export function starts(volts: readonly number[]): number[] {
  return pulses(volts).map(({ start }) => start);
}
