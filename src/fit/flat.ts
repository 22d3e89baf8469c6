/** How far a setting can be moved before the recording tells the difference, or more than chance. */

import { boundsOf, coordinateOf, type Knob, knobValue, movedBy10 } from './settings.ts';

/** A move that raises the distance by less than this makes no difference, dB. */
export const DECIDED = 0.02;
/** How often the interval around the border is halved. */
const HALVINGS = 4;

export interface FlatSide {
  /**
   * By how many dB the distance rises if it is moved by 10 % this way; null if that is not possible, or was not
   * tried.
   */
  readonly riseDb: number | null;
  /** The furthest value that makes no difference; null where 10 % does, or where it was not found out. */
  readonly edge: number | null;
  /** Whether that is the end of the range. */
  readonly isEnd: boolean;
}

/**
 * Looks how far a setting can go one way.
 * @param rise by how many dB the distance rises with a value in its place.
 * @param isOver once true, nothing more is tried.
 */
export async function flatSide(
  knob: Knob,
  value: number,
  direction: -1 | 1,
  rise: (value: number) => Promise<number>,
  isOver: () => boolean,
): Promise<FlatSide> {
  const moved = movedBy10(knob, value).find((one) => Math.sign(one - value) === direction);
  if (moved !== undefined && isOver()) return { riseDb: null, edge: null, isEnd: false };
  const riseDb = moved === undefined ? null : await rise(moved);
  const unknown: FlatSide = { riseDb, edge: null, isEnd: false };
  if (riseDb !== null && riseDb >= DECIDED) return unknown;
  const { low, high } = boundsOf(knob);
  const end = direction < 0 ? knob.low : knob.high;
  // A value beyond its range cannot be moved to that end.
  if (Math.sign(end - value) !== direction) return { riseDb, edge: value, isEnd: true };
  const isFlat = async (at: number): Promise<boolean> =>
    (await rise(knobValue(knob, at))) < DECIDED;
  const far = direction < 0 ? low : high;
  let near = coordinateOf(knob, value);
  if (isOver()) return unknown;
  // Even if the end is as good, a bump on the way is a difference.
  if ((await isFlat(far)) && !isOver() && (await isFlat((near + far) / 2)))
    return { riseDb, edge: end, isEnd: true };
  let border = far;
  for (let halving = 0; halving < HALVINGS; halving++) {
    if (isOver()) return unknown;
    const middle = (near + border) / 2;
    if (await isFlat(middle)) near = middle;
    else border = middle;
  }
  const edge = knobValue(knob, near);
  if (Math.sign(edge - value) === direction) return { riseDb, edge, isEnd: false };
  // Even the shortest of these moves makes a difference, but 10 % does not.
  return { riseDb, edge: knobValue(knob, coordinateOf(knob, moved ?? value)), isEnd: false };
}

/** Values that other noise might have made the likeliest; null is the end of the range. */
export interface ChanceRange {
  readonly low: number | null;
  readonly high: number | null;
}

/**
 * How far chance may have put a setting off.
 * @param far either way, in units of the search.
 * @returns null where that is within 10 %.
 */
export function chanceRange(knob: Knob, value: number, far: number): ChanceRange | null {
  const here = coordinateOf(knob, value);
  const isWide = movedBy10(knob, value).some(
    (one) => Math.abs(coordinateOf(knob, one) - here) < far,
  );
  if (!isWide) return null;
  const bounds = boundsOf(knob);
  const endOf = (at: number, isEnd: boolean): number | null => {
    const end = knobValue(knob, at);
    // At 0 the setting does nothing, and beyond it is another: chance leads to neither.
    if (end * value < 0) return 0;
    return isEnd ? null : end;
  };
  return {
    low: endOf(here - far, here - far <= bounds.low),
    high: endOf(here + far, here + far >= bounds.high),
  };
}
