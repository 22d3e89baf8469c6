/** How the rules of timing and sound speak: times, counts, places in the song. */

import type { JackRef } from '../patch/patch.ts';
import { formatBriefly } from '../patch/units.ts';
import type { SongExtent } from './triggers/span.ts';
import type { Train } from './triggers/triggers.ts';
import { listed } from './words.ts';

/** A time to three digits: `7.5 ms`. @param more digits. */
export function inTime(seconds: number, more = 0): string {
  return formatBriefly(seconds, 'time', 3 + more);
}

/** `3 of 8 hits`, `all 8 hits`, `both hits`, `its only hit`. */
export function share(count: number, all: number, noun: string): string {
  if (count < all) return `${count} of ${all} ${noun}s`;
  if (all === 2) return `both ${noun}s`;
  return all === 1 ? `its only ${noun}` : `all ${all} ${noun}s`;
}

/** How much of the song a count is of, where it is not the whole: ` in the first 2.08 s`. */
export function within({ seconds, complete }: Pick<SongExtent, 'seconds' | 'complete'>): string {
  return complete ? '' : ` in the first ${inTime(seconds)}`;
}

export function inPlace({ bar, step }: { readonly bar: number; readonly step: number }): string {
  return `bar ${bar}, step ${step}`;
}

/** The inputs of one net that a finding is about, by name. */
export function inputsOf(trains: readonly Train[]): string {
  return listed(trains.map(({ terminal }) => `${terminal.module.name}.${terminal.jack.name}`));
}

/** The inputs of one net that a finding is about. */
export function jacksOfTrains(trains: readonly Train[]): readonly JackRef[] {
  return trains.map(({ terminal: { module, jack } }) => ({ module: module.name, jack: jack.name }));
}

/** Trains by net, since what one wire carries is one finding. */
export function byNet<T extends Train>(trains: readonly T[]): readonly (readonly [T, ...T[]])[] {
  const groups = new Map<unknown, [T, ...T[]]>();
  for (const train of trains) {
    const group = groups.get(train.net);
    if (group === undefined) groups.set(train.net, [train]);
    else group.push(train);
  }
  return [...groups.values()];
}
