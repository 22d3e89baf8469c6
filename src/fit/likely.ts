/**
 * A last pass for few settings of a voice with noise. The distance counts each band and moment alike, and compares with one
 * draw of noise: where it is least follows that draw. Here the render is the mean power of several, and the settings
 * come to where the recording is likeliest by `whittle`. Other draws in the recording's place then tell how far its own
 * noise, and that of the renders, may have put each setting off, the others having followed.
 */

import { mean } from '../measure/mean.ts';
import { DECIDED } from './flat.ts';
import {
  informationOf,
  likeliest,
  type Scored,
  type Scoring,
  type Slopes,
  slopesAt,
  steppedPlace,
  undoingSteps,
} from './scoring.ts';
import type { Search } from './search.ts';
import { followed } from './strides.ts';
import type { Tries } from './tries.ts';
import type { DistanceParts } from './voice-renders.ts';
import { isSteady, powerLogs, tellingValues, unlikeliness } from './whittle.ts';

/** Draws of the render's noise, its own among them: while searching, and at the end. */
const DRAWS = { few: 4, all: 16 };
/** Places that are tried at least: for each setting, and besides. */
const PLACES = { each: 10, besides: 5 };
/** A setting that went back is moved all the same if its old value is so many standard errors off. */
const SURE = 3;
/** 95 % are within so many standard errors, found from 16 draws. Source: Student's t, 15 degrees of freedom. */
export const STATED_ERRORS = 2.131;
/** Settings make up for one another if their correlation is so high: either alone is known to less than half of its error. */
const PAIRED = 0.9;
/** What makes a recording likelier by less, in nepers, is far within its noise; or moves nothing by 0.1 %. */
const ENOUGH = { noisy: 0.05, steady: 1e-3 };
/** The step that finds slopes where nothing is searched, in units of the search. */
const PROBE = 0.06;

/** By how many standard errors, over so many draws, the distance may rise, and by how many dB at most. */
const ADOPTING = { sure: 2, draws: 8, most: 0.3 };

/** Renders that what comes after the search takes: two places with all draws, and a look whether a gain may be chance. */
const AFTER = 2 * DRAWS.all + 2 * ADOPTING.draws;

/** How many renders the pass takes at least. */
export function likelyTries(settings: number): number {
  return DRAWS.few * (PLACES.each * settings + PLACES.besides) + AFTER;
}

/** ... and how many it takes to find out how far chance may have put settings off. */
export function chanceTries(settings: number): number {
  return DRAWS.few * (settings + 1) + DRAWS.all;
}

/** A search that says which values a place stands for. */
export interface ValuedSearch extends Search {
  readonly valuesOf: (place: readonly number[]) => readonly number[];
}

export interface Likely {
  /** Which settings may move, and where all are. */
  readonly axes: readonly number[];
  readonly from: readonly number[];
  /** Of these settings those that went back, with the place to which. */
  readonly back: ReadonlyMap<number, number>;
  /** It ends with so many renders of the whole fit. */
  readonly upTo: number;
  /** How many the recording has, and how many hits its powers are the mean of. */
  readonly bands: number;
  readonly hits: number;
}

/** How far chance may have put settings off; nothing of a voice without noise. */
export interface ByChance {
  /** The standard error of each setting, in units of the search, by its coordinate. */
  readonly errors: ReadonlyMap<number, number>;
  /** Settings that make up for one another: more of one with less of the other, or, if `isSame`, with more of it. */
  readonly pairs: readonly { readonly axes: readonly [number, number]; readonly isSame: boolean }[];
}

export const NO_CHANCE: ByChance = { errors: new Map(), pairs: [] };

type LikelyTries = Pick<Tries, 'best' | 'done' | 'prepare' | 'aside' | 'drawn' | 'partsAt'>;

/** Moves settings to where the recording is likeliest, if what they had gained over that may be chance. */
export async function comeLikelier(
  tries: LikelyTries,
  search: ValuedSearch,
  { axes, from, back, upTo, bands, hits }: Likely,
): Promise<ByChance> {
  const begun = await begunAt(tries, search, { from, bands, hits });
  const { found, slopes } = await likeliest(
    { ...begun.scoring, isOver: () => search.isOver() || tries.done >= upTo - AFTER },
    begun.start,
    axes,
  );
  if (search.isOver()) return NO_CHANCE;
  if (begun.isSteady) {
    await adopt(tries, search.valuesOf(found.place));
    return NO_CHANCE;
  }
  const close = await closerLook(tries, search, { place: found.place, slopes, bands, hits });
  const next = steppedPlace(found.place, { ...close, slopes, bounds: search.bounds });
  const place = (await close.isLikelier(next)) ? next : found.place;
  await adopt(tries, search.valuesOf(wentBack(place, { ...close, back, bounds: search.bounds })));
  return close.chance;
}

interface GoingBack extends Pick<Likely, 'back'> {
  readonly bounds: Search['bounds'];
  readonly chance: ByChance;
  readonly matrix: readonly Float64Array[];
}

/** The settings that chance may have moved go back again, and those that moved for good follow them. */
function wentBack(
  place: readonly number[],
  { back, bounds, chance: { errors }, matrix }: GoingBack,
): readonly number[] {
  const axes = [...errors.keys()];
  const isBack = (axis: number): boolean => {
    const own = back.get(axis);
    const far = SURE * (errors.get(axis) as number);
    return own !== undefined && Math.abs((place[axis] as number) - own) <= far;
  };
  const kept = axes.filter((axis) => !isBack(axis));
  return axes.filter(isBack).reduce((moved, axis) => {
    const free = [axis, ...kept];
    const rows = free.map((one) => matrix[axes.indexOf(one)] as Float64Array);
    const own = rows.map((row) =>
      Float64Array.from(free, (one) => row[axes.indexOf(one)] as number),
    );
    const by = (back.get(axis) as number) - (place[axis] as number);
    return followed({ place: moved, bounds, free, matrix: own }, 0, by);
  }, place);
}

/** Finds how far chance may have put settings off where they are. */
export async function chanceAt(
  tries: LikelyTries,
  search: ValuedSearch,
  { axes, from, bands, hits }: Omit<Likely, 'back' | 'upTo'>,
): Promise<ByChance> {
  const begun = await begunAt(tries, search, { from, bands, hits });
  if (begun.isSteady) return NO_CHANCE;
  const { slopes } = await slopesAt(begun.scoring, begun.start, { axes, probe: PROBE });
  return (await closerLook(tries, search, { place: from, slopes, bands, hits })).chance;
}

/**
 * Takes values as the best, if what these gain over them may be chance. A gain differs from draw to draw of the render, and as
 * much between draws of the recording, of which there is one.
 */
async function adopt(tries: LikelyTries, values: readonly number[]): Promise<void> {
  const { best } = tries;
  const db = await tries.aside(values);
  const gains: number[] = [db - best.db];
  tries.prepare([best.values, values], ADOPTING.draws);
  for (let draw = 1; draw < ADOPTING.draws && db > best.db; draw++) {
    const own = await tries.drawn(best.values, draw);
    gains.push((await tries.drawn(values, draw)) - own);
  }
  const gained = mean(gains);
  const squares = gains.reduce((sum, gain) => sum + (gain - gained) ** 2, 0);
  const spread = Math.sqrt((squares / Math.max(1, gains.length - 1)) * (1 + 1 / gains.length));
  const isChance = gained <= Math.max(DECIDED, ADOPTING.sure * spread);
  if (isChance && gained <= ADOPTING.most) tries.best = { values, db };
}

type Looked = Pick<Likely, 'bands' | 'hits'>;

/** The first look, whose weights all places are judged by. */
async function begunAt(
  tries: LikelyTries,
  search: ValuedSearch,
  { from, bands, hits }: Looked & Pick<Likely, 'from'>,
) {
  tries.prepare([search.valuesOf(from)], DRAWS.few);
  const draws = await drawsAt(tries, search.valuesOf(from), DRAWS.few);
  const telling = tellingValues(draws, bands, hits);
  const values = joined(telling);
  const steady = isSteady(draws);
  const count = steady ? 1 : DRAWS.few;
  const scoredOf = (place: readonly number[], all: readonly DistanceParts[]): Scored => {
    const logs = powerLogs(all, telling);
    return { place, logs, value: unlikeliness(logs, values) };
  };
  const scoring: Scoring = {
    ...{
      bounds: search.bounds,
      values,
      isOver: () => false,
      enough: ENOUGH[steady ? 'steady' : 'noisy'],
    },
    prepare: (places, draws = count) => tries.prepare(places.map(search.valuesOf), draws),
    glanceAt: async (place) =>
      scoredOf(place, await drawsAt(tries, search.valuesOf(place), 1)).value,
    scoredAt: async (place) => scoredOf(place, await drawsAt(tries, search.valuesOf(place), count)),
  };
  return { scoring, start: scoredOf(from, draws), isSteady: steady };
}

/**
 * Looks at a place with many draws. Each of them in the recording's place would have led elsewhere: by the same slopes, and
 * with the mean of the others as the render.
 */
async function closerLook(
  tries: LikelyTries,
  { valuesOf }: ValuedSearch,
  {
    place,
    slopes,
    bands,
    hits,
  }: Looked & { readonly place: readonly number[]; readonly slopes: Slopes },
) {
  tries.prepare([valuesOf(place)], DRAWS.all);
  const draws = await drawsAt(tries, valuesOf(place), DRAWS.all);
  const telling = tellingValues(draws, bands, hits);
  const values = joined(telling);
  const logs = powerLogs(draws, telling);
  const { matrix, pull } = informationOf(values, logs, slopes);
  const moves = draws.map((draw, index) => {
    const own = powerLogs([draw], telling);
    const others = powerLogs(draws.toSpliced(index, 1), telling);
    const apart = others.map((one, k) => one - (own[k] as number));
    return undoingSteps({ matrix, pull: informationOf(values, apart, slopes).pull });
  });
  const errors = new Map(
    [...slopes.keys()].map((axis, index) => [
      axis,
      Math.sqrt(mean(moves.map((move) => (move[index] as number) ** 2))),
    ]),
  );
  const isLikelier = async (other: readonly number[]): Promise<boolean> => {
    tries.prepare([valuesOf(other)], DRAWS.all);
    const there = powerLogs(await drawsAt(tries, valuesOf(other), DRAWS.all), telling);
    return unlikeliness(there, values) < unlikeliness(logs, values);
  };
  return {
    matrix,
    pull,
    chance: { errors, pairs: pairsOf(matrix, [...slopes.keys()]) },
    isLikelier,
  };
}

/** The settings whose effects are so alike that the recording tells the two together far better than each. */
function pairsOf(matrix: readonly Float64Array[], axes: readonly number[]): ByChance['pairs'] {
  const inverse = axes.map((_, index) =>
    undoingSteps({ matrix, pull: Float64Array.from(axes, (_one, k) => (k === index ? 1 : 0)) }),
  );
  const at = (row: number, column: number): number =>
    (inverse[row] as readonly number[])[column] as number;
  return axes.flatMap((one, row) =>
    axes.slice(0, row).flatMap((other, column) => {
      const correlation = at(row, column) / Math.sqrt(at(row, row) * at(column, column));
      if (!(Math.abs(correlation) > PAIRED)) return [];
      return [{ axes: [other, one] as const, isSame: correlation > 0 }];
    }),
  );
}

async function drawsAt(
  tries: LikelyTries,
  values: readonly number[],
  count: number,
): Promise<readonly DistanceParts[]> {
  const all: DistanceParts[] = [];
  for (let draw = 0; draw < count; draw++) all.push(await tries.partsAt(values, draw));
  return all;
}

function joined(rows: readonly Float64Array[]): Float64Array {
  return Float64Array.from(rows.flatMap((row) => [...row]));
}
