/**
 * A bounded search that needs no derivatives and few tries, and always gives the same result.
 *
 * `scan` tries each coordinate over its whole range, one after the other, from the best so far, and
 * finds which make a difference. `polish` then moves several together by the simplex method, again
 * with a smaller simplex until that gains nothing; `climb` is for many at once. Source: J. A. Nelder & R.
 * Mead, A Simplex Method for Function Minimization, Computer Journal 7 (1965) 308-313 (from memory);
 * the coefficients for many coordinates: F. Gao & L. Han, Implementing the Nelder-Mead Simplex
 * Algorithm with Adaptive Parameters, Comput. Optim. Appl. 51 (2012) 259-277 (from memory).
 */

import { largest, smallest } from '../modules/dsp/extremes.ts';

export interface Bounds {
  readonly low: number;
  readonly high: number;
}

export interface Search {
  /** Bounds of each coordinate. One unit is a large step, such as a factor of e. */
  readonly bounds: readonly Bounds[];
  /** The function to minimise: may be called again for the same place. */
  readonly evaluate: (place: readonly number[]) => Promise<number>;
  /** Says which places come next, in this order, for a function that can work on several at once. */
  readonly prepare?: (places: readonly (readonly number[])[]) => void;
  /** Once true, the search ends with the best so far. */
  readonly isOver: () => boolean;
}

export interface BestPlace {
  readonly place: readonly number[];
  readonly value: number;
}

export interface Scan extends BestPlace {
  /** The coordinates that make a difference. */
  readonly axes: readonly number[];
}

/** Values this close count as the same. */
const SAME = 0.01;
/** A coordinate is tried in steps of about this; where that would be more than so many steps, they are longer. */
const STEP = 0.9;
const MOST_STEPS = 14;
const FEWEST_STEPS = 5;
/** Steps of one coordinate by itself: the first, the longest, and those too short to go on. */
const FIRST_STEP = 0.6;
const MOST_STEP = 1.5;
const LAST_STEP = 0.03;
/** Sizes of the simplexes, and how small each may become. */
const SIZES = [0.35, 0.12, 0.04];
const SMALLEST = 0.0025;

export interface ScanOptions {
  /** The most steps of one range; never fewer than five. */
  readonly mostSteps?: number;
  /** The coordinates, first the one that is tried first. */
  readonly order?: readonly number[];
}

/**
 * Tries each coordinate over its whole range.
 * @param start in the bounds.
 */
export async function scan(
  { bounds, evaluate, isOver }: Search,
  start: readonly number[],
  { mostSteps = MOST_STEPS, order = [...start.keys()] }: ScanOptions = {},
): Promise<Scan> {
  let best: BestPlace = { place: start, value: await evaluate(start) };
  const axes: number[] = [];
  for (const axis of order) {
    const { low, high } = bounds[axis] as Bounds;
    const wanted = Math.min(MOST_STEPS, mostSteps, Math.round((high - low) / STEP));
    const steps = Math.max(FEWEST_STEPS, wanted);
    let least = best;
    let most = best.value;
    for (let step = 0; step <= steps && !isOver(); step++) {
      const place = best.place.with(axis, low + ((high - low) * step) / steps);
      const value = await evaluate(place);
      most = Math.max(most, value);
      if (value < least.value - SAME) least = { place, value };
    }
    if (most - least.value > SAME) axes.push(axis);
    best = least;
  }
  return { ...best, axes };
}

/**
 * Moves each coordinate by a step of its own, which grows where that gains and shrinks where it does
 * not; after each round all go on together as far as the round went. For many coordinates, each
 * of which gives a share of the gain.
 * Source: R. Hooke & T. A. Jeeves, "Direct Search" Solution of Numerical and Statistical Problems,
 * J. ACM 8 (1961) 212-229 (from memory). Deviation: each coordinate has its own step.
 * @returns the best, and the coordinates that made a difference.
 */
export async function climb(
  { bounds, evaluate, prepare, isOver }: Search,
  from: BestPlace,
  axes: readonly number[],
): Promise<Scan> {
  let best = from;
  const steps = new Map(axes.map((axis) => [axis, FIRST_STEP]));
  const felt = new Set<number>();
  const tried = async (place: readonly number[]): Promise<boolean> => {
    const value = await evaluate(place);
    const isBetter = value < best.value - SAME / 2;
    if (isBetter) best = { place, value };
    return isBetter;
  };
  const moved = (place: readonly number[], axis: number, step: number): readonly number[] => {
    const { low, high } = bounds[axis] as Bounds;
    const to = Math.min(high, Math.max(low, (place[axis] as number) + step));
    return place.with(axis, to);
  };
  const isDone = (): boolean =>
    isOver() || [...steps.values()].every((step) => Math.abs(step) < LAST_STEP);
  while (!isDone()) {
    const start = best;
    for (const axis of axes) {
      const step = steps.get(axis) as number;
      if (Math.abs(step) < LAST_STEP || isOver()) continue;
      const before = best.value;
      let gain = 0;
      const ways = [step, -step].map((way) => ({ way, place: moved(best.place, axis, way) }));
      prepare?.(ways.map(({ place }) => place));
      for (const { way, place } of ways) {
        if (place[axis] === best.place[axis]) continue;
        const value = await evaluate(place);
        if (Math.abs(value - before) > SAME) felt.add(axis);
        if (!(value < before - SAME / 2)) continue;
        best = { place, value };
        gain = way;
        break;
      }
      steps.set(
        axis,
        gain === 0 ? step / 2 : Math.sign(gain) * Math.min(MOST_STEP, Math.abs(gain) * 1.5),
      );
    }
    // The same distance again as the round went.
    for (let last = start; best.value < last.value && !isOver(); ) {
      const { place } = best;
      const further = place.map((value, axis) => {
        const { low, high } = bounds[axis] as Bounds;
        return Math.min(high, Math.max(low, 2 * value - (last.place[axis] as number)));
      });
      last = best;
      if (!(await tried(further))) break;
    }
  }
  return { ...best, axes: axes.filter((axis) => felt.has(axis)) };
}

/**
 * Moves some coordinates together, from where they are until nothing more is gained.
 * @param sizes of the simplexes, one after the other.
 */
export async function polish(
  search: Search,
  from: BestPlace,
  axes: readonly number[],
  sizes: readonly number[] = SIZES,
): Promise<BestPlace> {
  let best = from;
  if (axes.length === 0) return best;
  for (const size of sizes) {
    for (let gained = true; gained && !search.isOver(); ) {
      const next = await simplex(best, { ...search, axes, size });
      gained = next.value < best.value - SAME;
      best = next.value < best.value ? next : best;
    }
  }
  return best;
}

async function simplex(
  from: BestPlace,
  {
    bounds,
    axes,
    size,
    evaluate,
    isOver,
  }: Search & { readonly axes: readonly number[]; readonly size: number },
): Promise<BestPlace> {
  const count = axes.length;
  const [expansion, contraction, shrinkage] =
    count === 1
      ? [2, 0.5, 0.5]
      : [1 + 2 / count, 0.75 - 1 / (2 * count), 1 - 1 / Math.max(2, count)];
  const clamped = (place: readonly number[]): number[] =>
    place.map((value, axis) => {
      const { low, high } = bounds[axis] as Bounds;
      return Math.min(high, Math.max(low, value));
    });
  const tried = async (place: readonly number[]): Promise<BestPlace> => {
    const inside = clamped(place);
    return { place: inside, value: await evaluate(inside) };
  };
  const corners: BestPlace[] = [from];
  for (const axis of axes) {
    if (isOver()) break;
    const here = from.place[axis] as number;
    const { high } = bounds[axis] as Bounds;
    corners.push(
      await tried(from.place.with(axis, here + size <= high ? here + size : here - size)),
    );
  }
  while (!isOver() && widthOf(corners) > SMALLEST) {
    corners.sort((a, b) => a.value - b.value);
    const best = corners[0] as BestPlace;
    const worst = corners.at(-1) as BestPlace;
    const others = corners.slice(0, -1);
    const next = others.at(-1) as BestPlace;
    const centre = from.place.map(
      (_, axis) =>
        others.reduce((sum, { place }) => sum + (place[axis] as number), 0) / others.length,
    );
    const along = (share: number): number[] =>
      centre.map((middle, axis) => middle + share * (middle - (worst.place[axis] as number)));
    const reflected = await tried(along(1));
    let taken: BestPlace | undefined;
    if (reflected.value < best.value) {
      const expanded = await tried(along(expansion));
      taken = expanded.value < reflected.value ? expanded : reflected;
    } else if (reflected.value < next.value) {
      taken = reflected;
    } else {
      const isOutside = reflected.value < worst.value;
      const contracted = await tried(along(isOutside ? contraction : -contraction));
      if (contracted.value < Math.min(worst.value, reflected.value)) taken = contracted;
    }
    if (taken !== undefined) {
      corners[corners.length - 1] = taken;
      continue;
    }
    for (let corner = 1; corner < corners.length && !isOver(); corner++) {
      const { place } = corners[corner] as BestPlace;
      corners[corner] = await tried(
        place.map((value, axis) => {
          const origin = best.place[axis] as number;
          return origin + shrinkage * (value - origin);
        }),
      );
    }
  }
  return corners.reduce((least, corner) => (corner.value < least.value ? corner : least));
}

function widthOf(corners: readonly BestPlace[]): number {
  const [first] = corners as [BestPlace];
  return largest(
    first.place.map((_, axis) => {
      const values = corners.map(({ place }) => place[axis] as number);
      return largest(values) - smallest(values);
    }),
  );
}
