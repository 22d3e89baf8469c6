/** The sounds of a recording whose strokes are heard alone, and how much the strokes of each differ. */

import { divergence, loudestOf, SILENCE } from './course-fit.ts';
import { BEFORE } from './stroke-course.ts';

export interface KnownStroke {
  /** The mean course from `LEAD` hops before the onset on; 1 over its first 30 ms. */
  readonly course: Float64Array;
  /**
   * The shape of the gamma distribution that powers have around their mean: the higher, the less they waver. By the
   * mean divergence of each stroke from the others, which is half its inverse.
   */
  readonly shape: number;
}

/** Hops before an onset that belong to its course. */
export const LEAD = 6;
const LENGTH = 156;
/** Hops that make the level of a course, and those by which two are alike. */
const LEVEL = 36;
const COMPARED = 80;
/** Two courses of one sound diverge by no more than this, a hop: at 3 strokes or more their own scatter is known. */
const ALIKE = 0.35;
const FEWEST = 3;
/** The most sounds, those with most strokes first. */
const MOST_SOUNDS = 6;
/** No drum wavers less, a hop: an onset is placed to a part of one. */
const STEADIEST = 25;

/** @param alone courses of strokes that nothing comes near. @returns the sounds with three strokes or more. */
export function knownStrokes(alone: readonly Float32Array[]): readonly KnownStroke[] {
  const sounds: Float64Array[][] = [];
  for (const powers of alone) {
    const course = normal(powers);
    const sound = sounds.find((one) => apartOf(course, meanOf(one)) <= ALIKE);
    if (sound === undefined) sounds.push([course]);
    else sound.push(course);
  }
  return sounds
    .filter(({ length }) => length >= FEWEST)
    .sort((a, b) => b.length - a.length)
    .slice(0, MOST_SOUNDS)
    .map((courses) => ({ course: meanOf(courses), shape: shapeOf(courses) }));
}

function shapeOf(courses: readonly Float64Array[]): number {
  let sum = 0;
  for (const [n, course] of courses.entries())
    sum += apartOf(course, meanOf(courses.filter((_, other) => other !== n)));
  return Math.min(STEADIEST, courses.length / (2 * sum));
}

/** The mean divergence, a hop. */
function apartOf(course: Float64Array, mean: Float64Array): number {
  const silence = SILENCE * loudestOf(mean, 0, mean.length);
  return divergence(course, mean, { from: 0, to: COMPARED, silence }) / COMPARED;
}

function normal(powers: Float32Array): Float64Array {
  const course = Float64Array.from(powers.subarray(BEFORE - LEAD, BEFORE - LEAD + LENGTH));
  let sum = 0;
  for (let h = 0; h < LEVEL; h++) sum += course[h] as number;
  return course.map((power) => power / Math.max(sum, 1e-30));
}

function meanOf(courses: readonly Float64Array[]): Float64Array {
  return new Float64Array(LENGTH).map(
    (_, h) => courses.reduce((sum, course) => sum + (course[h] as number), 0) / courses.length,
  );
}
