/**
 * Where a fit starts: what all settings of one sort have in common is moved first, by what is measured. A
 * drum that is a fifth higher, or twice as long, has every pitch higher and every time longer.
 */

import { boundsOf, coordinateOf, type Knob, knobValue } from './settings.ts';
import type { Tries } from './tries.ts';

/** Shifts in units of the search, of which one is a factor of e. */
const TIMES = [-2.4, -1.6, -0.8, 0.8];
const PITCHES = [-1.4, -0.7, -0.35, 0.35, 0.7, 1.4];
const CUTOFFS = [-1.6, -0.8, -0.4, 0.4, 0.8];

/**
 * Moves the settings of each sort together, and keeps what is nearer.
 * @param partialHz of the recording; null if it has none.
 */
export async function moveTogether(
  tries: Tries,
  knobs: readonly Knob[],
  partialHz: number | null,
  isOver: () => boolean,
): Promise<void> {
  const axesOf = (wanted: (knob: Knob) => boolean): readonly number[] =>
    [...knobs.keys()].filter((axis) => wanted(knobs[axis] as Knob));
  const times = axesOf(({ spec }) => spec.type === 'time');
  const pitches = axesOf(isPitch);
  const cutoffs = axesOf((knob) => knob.spec.type === 'frequency' && !isPitch(knob));
  const shifted = async (axes: readonly number[], shifts: readonly number[]): Promise<void> => {
    if (axes.length === 0) return;
    const { values } = tries.best;
    for (const shift of shifts) {
      if (isOver()) return;
      await tries.at(
        values.map((value, axis) =>
          axes.includes(axis) ? moved(knobs[axis] as Knob, value, shift) : value,
        ),
      );
    }
  };
  const measured = async (): Promise<readonly number[]> => {
    const own = await tries.partialAt(tries.best.values);
    return partialHz === null || own === null ? [] : [Math.log(partialHz / own)];
  };
  await shifted(times, TIMES);
  await shifted(pitches, [...(await measured()), ...PITCHES]);
  await shifted([...pitches, ...cutoffs], [...(await measured()), -0.7, 0.7]);
  await shifted(cutoffs, CUTOFFS);
  await shifted(pitches, [...(await measured()), -0.2, 0.2]);
  await shifted(times, [-0.8, -0.4, 0.4]);
}

function isPitch({ setting }: Knob): boolean {
  return setting === 'at-zero' || setting === 'base';
}

function moved(knob: Knob, value: number, shift: number): number {
  const { low, high } = boundsOf(knob);
  return knobValue(knob, Math.min(high, Math.max(low, coordinateOf(knob, value) + shift)));
}
