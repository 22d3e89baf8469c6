/**
 * A last pass for few settings of a voice with noise. The distance counts each band and moment alike, and compares with one
 * draw of noise: where it is least follows that draw. Here the render is the mean power of several, and what is least
 * is how unlikely the recording's powers are, as noise of that mean power: of p with the mean m, p / m + log m, and
 * the more independent values a band has, the more it counts. Source: P. Whittle's likelihood of a spectrum, J. R. Stat. Soc. B
 * 15 (1953) 125-139 (from memory). Deviation: the powers are smoothed, and their level is free.
 */

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
/** A setting that went back is moved all the same if the recording is likelier by so much: three standard errors. */
const SURE = 3 ** 2 / 2;

/** How many renders the pass takes at most. */
export function likelyTries(settings: number): number {
  return DRAWS * ((PLACES.each + 1) * settings + PLACES.besides);
}

/**
 * How unlikely a recording is by the mean power of renders, for each independent value of its lowest band: of all bands and
 * moments, as many times as they have such values, the logarithm of the arithmetic mean over the geometric one of the
 * recording's powers over the renders'. It is 0 where all are in one ratio.
 * @param draws the residuals of each render, band by band.
 * @param bands of third octaves, from the lowest up.
 */
export function unlikeliness(draws: readonly Pick<DistanceParts, 'left'>[], bands: number): number {
  const spans = draws.map(({ left }) => Math.floor(left.length / bands));
  const frames = smallest(spans);
  let weight = 0;
  let sum = 0;
  let logs = 0;
  for (let band = 0; band < bands; band++) {
    // A third octave that is twice as high is twice as wide.
    const width = 2 ** (band / 3);
    for (let frame = 0; frame < frames; frame++) {
      let power = 0;
      let isHeard = false;
      draws.forEach(({ left }, draw) => {
        const db = left[band * (spans[draw] as number) + frame] as number;
        if (db !== 0) isHeard = true;
        power += 10 ** (-db / 10);
      });
      // Under the floor in all of them.
      if (!isHeard) continue;
      const ratio = draws.length / power;
      weight += width;
      sum += width * ratio;
      logs += width * Math.log(ratio);
    }
  }
  return weight === 0 ? 0 : weight * Math.log(sum / weight) - logs;
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
  const evaluate = async (place: readonly number[]): Promise<number> => {
    const values = search.valuesOf(place);
    const all: DistanceParts[] = [];
    tries.prepare([values], DRAWS);
    for (let draw = 0; draw < DRAWS; draw++) all.push(await tries.partsAt(values, draw));
    return unlikeliness(all, bands);
  };
  const most = tries.done + DRAWS * (PLACES.each * axes.length + PLACES.besides);
  const isOver = (): boolean => search.isOver() || tries.done >= most;
  const start = { place: from, value: await evaluate(from) };
  let found = await polish({ ...search, evaluate, isOver }, start, axes, [SIZE]);
  // The recording's noise and that of the renders.
  const sure = (SURE * (1 + 1 / DRAWS)) / (VALUES * hits);
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
