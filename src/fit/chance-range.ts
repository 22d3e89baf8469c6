/**
 * How far the noise of two sounds may have put a setting off. Near its minimum a distance is a parabola along a setting,
 * b x^2 + g x, whose slope g other noise changes: so it is nearest at -g / 2b. The recording has one draw of noise, and
 * the render another, of which each changes g as much.
 */

import { mean } from '../measure/mean.ts';
import { boundsOf, coordinateOf, type Knob, knobValue, movedBy10 } from './settings.ts';
import type { Tries } from './tries.ts';

/** Values that other noise might have made the nearest; null is the end of the range. */
export interface ChanceRange {
  readonly low: number | null;
  readonly high: number | null;
}

/** Other draws of noise, and the one of the render. */
const OTHERS = 3;
/** The most renders that a range takes: three places in each other draw, and two more in the render's own. */
export const CHANCE_TRIES = 3 * OTHERS + 2;
/** 95 % are within so many standard errors, found from four draws. Source: Student's t, three degrees of freedom. */
const STATED = 3.18;

/**
 * Finds the range of one setting at the best so far, from the rise of the distance 10 % to either side in several draws.
 * @returns null where that is within 10 %, for a voice without noise, and for a value at the end of what can be set.
 */
export async function chanceRange(
  tries: Pick<Tries, 'best' | 'prepare' | 'aside' | 'drawn'>,
  knob: Knob,
  axis: number,
): Promise<ChanceRange | null> {
  const { values } = tries.best;
  const value = values[axis] as number;
  const [below, above] = movedBy10(knob, value);
  if (below === undefined || above === undefined) return null;
  const slopes: number[] = [];
  const bends: number[] = [];
  let first = 0;
  tries.prepare(
    [value, below, above].map((one) => values.with(axis, one)),
    1 + OTHERS,
  );
  for (let draw = 0; draw <= OTHERS; draw++) {
    const at = (other: number): Promise<number> => {
      const moved = values.with(axis, other);
      return draw === 0 ? tries.aside(moved) : tries.drawn(moved, draw);
    };
    const own = await at(value);
    if (draw === 0) first = own;
    else if (own === first) return null;
    const [low, high] = [await at(below), await at(above)];
    slopes.push((high - low) / 2);
    bends.push((low + high) / 2 - own);
  }
  const bend = mean(bends);
  // With most noise 10 % to a side is as near.
  if (!(bend > 0)) return { low: below, high: above };
  const slope = mean(slopes);
  const spread = Math.sqrt(slopes.reduce((sum, one) => sum + (one - slope) ** 2, 0) / OTHERS);
  // In moves of 10 %: the noise of both sounds.
  const far = (STATED * Math.SQRT2 * spread) / (2 * bend);
  if (far <= 1) return null;
  const here = coordinateOf(knob, value);
  const [from, to] = [here - coordinateOf(knob, below), coordinateOf(knob, above) - here];
  const { low, high } = boundsOf(knob);
  const ends = [here - far * from, here + far * to] as const;
  return {
    low: ends[0] <= low ? null : knobValue(knob, ends[0]),
    high: ends[1] >= high ? null : knobValue(knob, ends[1]),
  };
}
