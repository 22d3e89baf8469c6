/**
 * A last pass for few settings of a voice with noise. The distance counts each band and moment alike, and compares with one
 * draw of noise: where it is least follows that draw. Here the render is the mean power of several, and what is least
 * is how unlikely the recording's powers are, as noise of that mean power: of p with the mean m, n (p / m + log m), where
 * n is how many independent values p is the mean of. Source: P. Whittle's likelihood of a spectrum, J. R. Stat. Soc. B
 * 15 (1953) 125-139 (from memory). Deviation: the powers are smoothed, and their level is free. Not all of a voice is
 * noise: a struck tone is the same in each draw, so its powers tell more than those of noise, and what a random voltage moves
 * tells less. So n is that of the band's width, the larger, the less the draws differ.
 */

import { mean } from '../measure/mean.ts';
import { smallest } from '../modules/dsp/extremes.ts';
import { polish, type Search } from './search.ts';
import { isChance } from './settle.ts';
import type { Tries } from './tries.ts';
import type { DistanceParts } from './voice-renders.ts';

/** Of the render, its own among them. */
const DRAWS = 4;
/** Places that are tried: for each setting, and besides; and one more for each that may go back. */
const PLACES = { each: 9, besides: 3 };
/** Size of the simplex, in units of the search. */
const SIZE = 0.12;
/** Independent values that 10 ms of the lowest band have: a third octave at 50 Hz is 11.6 Hz wide. */
const VALUES = 0.116;
/**
 * How much the draws differ is looked for in so many bands to each side, too. That they differ as noise does counts as so many
 * differences that are known.
 */
const SCATTER = { bands: 1, known: 3 };
/** A setting that went back is moved all the same if the recording is likelier by so much: three standard errors. */
const SURE = 3 ** 2 / 2;

/** How many renders the pass takes at most. */
export function likelyTries(settings: number): number {
  return DRAWS * ((PLACES.each + 1) * settings + PLACES.besides);
}

/** The residuals of a render, band by band. */
type DrawResiduals = Pick<DistanceParts, 'left'>;

/**
 * How many independent values the power of each band and moment tells, as the scatter between renders has it.
 * @param bands of third octaves, from the lowest up.
 * @param hits that powers are the mean of.
 */
export function tellingValues(
  draws: readonly DrawResiduals[],
  bands: number,
  hits: number,
): readonly Float64Array[] {
  const { spans, frames } = spansOf(draws, bands);
  // A third octave that is twice as high is twice as wide.
  const values = Array.from({ length: bands }, (_, band) => VALUES * 2 ** (band / 3) * hits);
  // In units of what noise has: a moment of a narrow band is one value, which those beside it share.
  const scatter = values.map((own, band) =>
    new Float64Array(frames).map((_, frame) => {
      const powers = powersAt(draws, spans, band, frame);
      if (powers === null) return draws.length - 1;
      const middle = mean(powers);
      const squares = powers.reduce((sum, power) => sum + (power / middle - 1) ** 2, 0);
      return Math.max(hits, own) * squares;
    }),
  );
  return values.map((own, band) => {
    const near = scatter.slice(Math.max(0, band - SCATTER.bands), band + SCATTER.bands + 1);
    const known = SCATTER.known + near.length * (draws.length - 1);
    return new Float64Array(frames).map(
      (_, frame) =>
        (own * known) / near.reduce((sum, row) => sum + (row[frame] as number), SCATTER.known),
    );
  });
}

/**
 * How unlikely a recording is by the mean power of renders: of all bands and moments, as many times as they have independent
 * values, the logarithm of the arithmetic mean over the geometric one of the recording's powers over the renders'. It is
 * 0 where all are in one ratio, and has no end for a render without sound.
 * @param draws the residuals of each render.
 * @param values how many each band has at each moment.
 */
export function unlikeliness(
  draws: readonly DrawResiduals[],
  values: readonly Float64Array[],
): number {
  const { spans, frames: heard } = spansOf(draws, values.length);
  const frames = Math.min(heard, values[0]?.length ?? 0);
  if (frames === 0) return Number.POSITIVE_INFINITY;
  let weight = 0;
  let sum = 0;
  let logs = 0;
  values.forEach((row, band) => {
    for (let frame = 0; frame < frames; frame++) {
      const powers = powersAt(draws, spans, band, frame);
      if (powers === null) continue;
      const own = row[frame] as number;
      const ratio = 1 / mean(powers);
      weight += own;
      sum += own * ratio;
      logs += own * Math.log(ratio);
    }
  });
  return weight === 0 ? 0 : weight * Math.log(sum / weight) - logs;
}

/** How many moments each render has, and how many all have. */
function spansOf(draws: readonly DrawResiduals[], bands: number) {
  const spans = draws.map(({ left }) => Math.floor(left.length / bands));
  return { spans, frames: smallest(spans) };
}

/** The power of each render over the recording's; null where it is under the floor in all of them. */
function powersAt(
  draws: readonly DrawResiduals[],
  spans: readonly number[],
  band: number,
  frame: number,
): readonly number[] | null {
  const residuals = draws.map(
    ({ left }, draw) => left[band * (spans[draw] as number) + frame] as number,
  );
  return residuals.some((db) => db !== 0) ? residuals.map((db) => 10 ** (-db / 10)) : null;
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
  /** How many the recording has, and how many hits its powers are the mean of. */
  readonly bands: number;
  readonly hits: number;
}

/** Moves settings to where the recording is likeliest, if what they had gained over that may be chance. */
export async function comeLikelier(
  tries: Pick<Tries, 'best' | 'done' | 'prepare' | 'aside' | 'drawn' | 'partsAt'>,
  search: ValuedSearch,
  { axes, from, back, bands, hits }: Likely,
): Promise<void> {
  const drawsAt = async (place: readonly number[]): Promise<readonly DistanceParts[]> => {
    const values = search.valuesOf(place);
    const all: DistanceParts[] = [];
    tries.prepare([values], DRAWS);
    for (let draw = 0; draw < DRAWS; draw++) all.push(await tries.partsAt(values, draw));
    return all;
  };
  const most = tries.done + DRAWS * (PLACES.each * axes.length + PLACES.besides);
  const isOver = (): boolean => search.isOver() || tries.done >= most;
  const first = await drawsAt(from);
  // The same for all places: what is likelier is told by one measure.
  const telling = tellingValues(first, bands, hits);
  const evaluate = async (place: readonly number[]): Promise<number> =>
    unlikeliness(await drawsAt(place), telling);
  const start = { place: from, value: unlikeliness(first, telling) };
  let found = await polish({ ...search, evaluate, isOver }, start, axes, [SIZE]);
  // The recording's noise and that of the renders.
  const sure = SURE * (1 + 1 / DRAWS);
  for (const [axis, own] of back) {
    if (search.isOver()) return;
    const place = found.place.with(axis, own);
    const value = await evaluate(place);
    if (value < found.value + sure) found = { place, value };
  }
  const values = search.valuesOf(found.place);
  const db = await tries.aside(values);
  if (await isChance(tries, values, db)) tries.best = { values, db };
}
