/**
 * How a few settings are searched: each over its whole range, one after the other, and then together downhill from each
 * of the places to which that leads, and from others that measures tell.
 */

import { type Descent, descend, descendFurther } from './descend.ts';
import { type BestPlace, type Scan, scan } from './search.ts';

export interface Exploring {
  /** The most steps of one range. */
  readonly mostSteps: number;
  /** Other places to begin from. */
  readonly others: readonly (readonly number[])[];
  /** Those that can be moved by any distance: others are only looked at over their ranges. */
  readonly dials: readonly number[];
  /** Once true, ranges are not looked at again, and descents end. */
  readonly isScanned: () => boolean;
  readonly isDescended: () => boolean;
}

/**
 * Searches from a place.
 * @returns the best, and the coordinates that made a difference.
 */
export async function explore(
  search: Descent,
  start: readonly number[],
  { mostSteps, others, dials, isScanned, isDescended }: Exploring,
): Promise<Scan> {
  const all = [...start.keys()];
  const felt = new Set<number>();
  const from: BestPlace[] = [];
  const add = (one: BestPlace): void => {
    if (from.every(({ place }) => place.some((value, axis) => value !== one.place[axis])))
      from.push(one);
  };
  for (const place of [start, ...others]) add({ place, value: await search.evaluate(place) });
  // What is best of one depends on those looked at before it, so each comes first once.
  for (const first of all) {
    if (first > 0 && isScanned()) break;
    const order = [...all.slice(first), ...all.slice(0, first)];
    const { axes, ...found } = await scan(search, start, { mostSteps, order });
    for (const axis of axes) felt.add(axis);
    add(found);
  }
  const axes = all.filter((axis) => felt.has(axis));
  const movable = dials.filter((axis) => felt.has(axis));
  const descent = { ...search, isOver: isDescended };
  let best: BestPlace = from[0] as BestPlace;
  for (const one of from.toSorted((a, b) => a.value - b.value)) {
    const found = await descend(descent, one, movable);
    if (found.value < best.value) best = found;
  }
  return { ...(await descendFurther(descent, best, movable)), axes };
}
