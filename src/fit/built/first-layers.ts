/**
 * The envelopes that the layers of a noise start from: of many, those that explain a recording's powers best
 * when each layer may have any level in any band.
 *
 * The levels of one choice are found band by band by multiplicative updates that lower the divergence of
 * Itakura and Saito, R/S - ln(R/S) - 1, which is the likelihood of powers that chance makes of noise. Source:
 * C. Févotte, N. Bertin & J.-L. Durrieu, Nonnegative Matrix Factorization with the Itakura-Saito
 * Divergence, Neural Computation 21 (2009) 793-830 (from memory); the root in an update is theirs too.
 */

import { DECAY_OF_60_DB } from '../layer.ts';
import { type BandCourse, bandCourse, filterOf, type Shape, shapeEnergy } from './course.ts';
import type { HeardPowers } from './heard-powers.ts';

export interface FirstLayer extends Shape {
  /** By band: its power where the envelope is at its peak. */
  readonly powers: Float64Array;
}

/** Factor from one time to the next. */
const RATIO = 1.7;
const ATTACKS = { exponential: [0.0005, 0.012, 0.04], linear: [0.0005, 0.02] } as const;
const SHORTEST = { exponential: 0.012, linear: 0.025 } as const;
/** Updates to compare one choice with another, and updates for the levels of the best. */
const QUICK = 5;
const WHOLE = 25;
/** Tones count with half of their power, since their measured levels may be too high. */
const TONE_SHARE = 0.5;

/**
 * Finds them, the brightest first.
 * @param tones the power of the tones by band and stretch, band after band.
 */
export function firstLayers(
  heard: HeardPowers,
  tones: readonly Float64Array[],
  count: number,
): readonly FirstLayer[] {
  const shapes = shapesWithin(heard.seconds);
  const courses = shapes.map((shape) => bandCourse(shapeEnergy(shape), heard.windows));
  const rest = restOf(heard, tones);
  const farWith = (chosen: readonly number[]): number =>
    explained(heard, rest, pick(courses, chosen), QUICK).far;
  let chosen: readonly number[] = [];
  const bestAt = (place: number): readonly number[] =>
    [...shapes.keys()]
      .map((index) => [...chosen.slice(0, place), index, ...chosen.slice(place + 1)])
      .map((tried) => ({ tried, far: farWith(tried) }))
      .reduce((best, one) => (one.far < best.far ? one : best)).tried;
  for (let place = 0; place < count; place++) chosen = bestAt(place);
  // The first layers were chosen without knowing the last.
  if (count > 1) for (let place = 0; place < count; place++) chosen = bestAt(place);
  const { levels } = explained(heard, rest, pick(courses, chosen), WHOLE);
  return pick(shapes, chosen)
    .map((shape, index) => ({ ...shape, powers: levels[index] as Float64Array }))
    .toSorted((a, b) => placeOf(b.powers) - placeOf(a.powers));
}

function pick<T>(list: readonly T[], chosen: readonly number[]): readonly T[] {
  return chosen.map((index) => list[index] as T);
}

function shapesWithin(seconds: number): readonly Shape[] {
  const shapes: Shape[] = [];
  for (const curve of ['exponential', 'linear'] as const) {
    const isRound = curve === 'exponential';
    const longest = isRound ? 3 * seconds : 1.3 * seconds + 0.05;
    for (let time: number = SHORTEST[curve]; time <= longest; time *= RATIO)
      for (const attack of ATTACKS[curve])
        if (attack <= time)
          shapes.push({ attack, decay: isRound ? DECAY_OF_60_DB * time : time, curve });
  }
  return shapes;
}

/** The power besides the layers: tones, and each floor. */
function restOf({ powers, floors, weights }: HeardPowers, tones: readonly Float64Array[]) {
  return powers.map((_, band) =>
    weights.map((_weight, k) =>
      tones.reduce(
        (sum, tone) => sum + TONE_SHARE * (tone[band * weights.length + k] as number),
        floors[band] as number,
      ),
    ),
  );
}

/** How well courses explain the powers, and with which level in each band. */
function explained(
  { powers, weights }: HeardPowers,
  rest: readonly Float64Array[],
  courses: readonly BandCourse[],
  updates: number,
): { readonly far: number; readonly levels: readonly Float64Array[] } {
  const levels = courses.map(() => new Float64Array(powers.length));
  let far = 0;
  powers.forEach((aim, band) => {
    const own = courses.map((course) => course[filterOf(band)] as Float64Array);
    const found = bandLevels({ aim, weights, rest: rest[band] as Float64Array, own }, updates);
    far += found.far;
    found.levels.forEach((level, index) => {
      (levels[index] as Float64Array)[band] = level;
    });
  });
  return { far, levels };
}

interface BandOf {
  readonly aim: Float64Array;
  readonly weights: Float64Array;
  readonly rest: Float64Array;
  readonly own: readonly Float64Array[];
}

function bandLevels(
  { aim, weights, rest, own }: BandOf,
  updates: number,
): { readonly far: number; readonly levels: readonly number[] } {
  const sums = new Float64Array(aim.length);
  const whole = weights.reduce((sum, weight, k) => sum + weight * (aim[k] as number), 0);
  const levels = own.map((course) => {
    const sum = weights.reduce((all, weight, k) => all + weight * (course[k] as number), 0);
    return whole / Math.max(1e-30, sum) / own.length;
  });
  const add = (): void => {
    for (let k = 0; k < sums.length; k++) {
      let sum = rest[k] as number;
      for (let j = 0; j < own.length; j++)
        sum += (levels[j] as number) * ((own[j] as Float64Array)[k] as number);
      sums[k] = sum;
    }
  };
  add();
  for (let update = 0; update < updates; update++) {
    own.forEach((course, j) => {
      let wanted = 0;
      let there = 0;
      for (let k = 0; k < sums.length; k++) {
        const share = ((weights[k] as number) * (course[k] as number)) / (sums[k] as number);
        wanted += (share * (aim[k] as number)) / (sums[k] as number);
        there += share;
      }
      if (there > 0) levels[j] = (levels[j] as number) * Math.sqrt(wanted / there);
    });
    add();
  }
  let far = 0;
  for (let k = 0; k < sums.length; k++) {
    const ratio = (aim[k] as number) / (sums[k] as number);
    far += (weights[k] as number) * (ratio - Math.log(ratio) - 1);
  }
  return { far, levels };
}

/** The mean band, weighted by power. */
function placeOf(powers: Float64Array): number {
  let sum = 0;
  let whole = 0;
  powers.forEach((power, band) => {
    sum += band * power;
    whole += power;
  });
  return whole > 0 ? sum / whole : 0;
}
