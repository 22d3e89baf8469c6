// Where a recording is likeliest, against closed forms: noises whose powers are drawn as those of a noise are, through a low-pass
// whose corner is to be found again. How well it can be found follows from the slope of each band's logarithm.

import { expect, it } from 'vitest';
import { comeLikelier, likelyTries, tellingValues, unlikeliness } from '../../src/fit/likely.ts';
import { mean } from '../../src/measure/mean.ts';
import { close } from '../close.ts';
import { uniform } from '../compare/fit-recordings.ts';

const ROUNDING = { abs: 5e-13, unit: 'nepers', why: 'rounding' };
const BANDS = 13;
/** Powers of few values would be off in the mean of four renders, too: one frame of many hits has five values or more. */
const FRAMES = 1;
const HITS = 40;
/** Independent values of a power: 10 ms of a third octave of 50 Hz and up, which is 0.23 of its frequency wide. */
const valuesIn = (band: number): number =>
  Math.max(1, Math.round(0.23 * 50 * 2 ** (band / 3) * 0.01 * HITS));
const next = uniform(88172645);
const decibels = (power: number): number => 10 * Math.log10(power);

/** The mean of so many powers of a noise, each of which is exponentially distributed around 1. */
function drawnPower(values: number): number {
  let sum = 0;
  for (let k = 0; k < values; k++) sum -= Math.log((1 + next()) / 2);
  return sum / values;
}
const drawnPowers = (): readonly Float64Array[] =>
  Array.from({ length: BANDS }, (_, band) =>
    new Float64Array(FRAMES).map(() => drawnPower(valuesIn(band))),
  );
/** Two poles whose corner is `octaves` above the middle band; `natural` logarithm of its power. */
const passed = (band: number, corner: number): number =>
  -Math.log(1 + Math.exp(4 * (((band - 6) / 3) * Math.LN2 - corner)));

/** A recording with its corner at 0, and how its renders differ from it; what is found from a corner on. */
async function found(from: number, isBack = false): Promise<number> {
  const recording = drawnPowers();
  const draws = [0, 1, 2, 3].map(drawnPowers);
  const residuals = (corner: number, draw: number): Float64Array =>
    Float64Array.from({ length: BANDS * FRAMES }, (_, k) => {
      const [band, frame] = [Math.floor(k / FRAMES), k % FRAMES];
      const powers = [recording, draws[draw] as typeof recording].map(
        (noise) => (noise[band] as Float64Array)[frame] as number,
      ) as [number, number];
      const own = passed(band, 0) - passed(band, corner);
      return decibels(powers[0] / powers[1]) + (10 / Math.LN10) * own;
    });
  const db = (corner: number, draw: number): number =>
    mean([...residuals(corner, draw)].map(Math.abs));
  const tries = {
    done: 0,
    best: { values: [from], db: db(from, 0) },
    prepare: () => {},
    aside: async ([corner]: readonly number[]) => db(corner as number, 0),
    drawn: async ([corner]: readonly number[], draw: number) => db(corner as number, draw),
    partsAt: async ([corner]: readonly number[], draw = 0) => {
      tries.done++;
      return { left: residuals(corner as number, draw), weights: new Float64Array() };
    },
  };
  const bounds = [{ low: -1, high: 1 }];
  const search = {
    ...{ bounds, valuesOf: (place: readonly number[]) => place },
    evaluate: async () => 0,
    isOver: () => false,
  };
  const back = new Map(isBack ? [[0, from]] : []);
  await comeLikelier(tries, search, { axes: [0], from: [from], back, bands: BANDS, hits: HITS });
  expect(tries.done).toBeLessThanOrEqual(likelyTries(1) + 4);
  return tries.best.values[0] as number;
}

/**
 * The standard error of a corner: of the logarithm of a mean of n powers it is 1 / sqrt(n), of the render's four draws together
 * half that; a level that all bands have in common is free.
 */
function standardError(): number {
  const steep = Array.from(
    { length: BANDS },
    (_, band) => (passed(band, 1e-4) - passed(band, -1e-4)) / 2e-4,
  );
  const count = steep.map((_, band) => valuesIn(band) * FRAMES);
  const all = count.reduce((sum, one) => sum + one, 0);
  const middle = steep.reduce((sum, one, band) => sum + one * (count[band] as number), 0) / all;
  const told = steep.reduce(
    (sum, one, band) => sum + (count[band] as number) * (one - middle) ** 2,
    0,
  );
  return Math.sqrt((1 + 1 / 4) / told);
}

it('is 0 for powers in one ratio, and else the logarithm of their mean over their mean logarithm', () => {
  const evenly = (bands: number, frames: number): readonly Float64Array[] =>
    Array.from({ length: bands }, () => new Float64Array(frames).fill(1));
  close(unlikeliness([{ left: new Float64Array(8).fill(5) }], evenly(2, 4)), 0, ROUNDING);
  // Ratios of 2 and 1/2, whose logarithms are 0 in the mean.
  const left = new Float64Array([2, 1 / 2].map(decibels));
  close(unlikeliness([{ left }], evenly(1, 2)), 2 * Math.log(5 / 4), ROUNDING);
  // Renders of the recording's power, and of three times it, are twice as loud as it in the mean.
  const two = [1, 3].map((power) => ({ left: new Float64Array([-decibels(power), 3]) }));
  const one = { left: new Float64Array([-decibels(2), 3]) };
  close(unlikeliness(two, evenly(1, 2)), unlikeliness([one], evenly(1, 2)), ROUNDING);
  // The second makes no sound.
  const silent = unlikeliness([one, { left: new Float64Array() }], evenly(1, 2));
  expect(silent).toBe(Number.POSITIVE_INFINITY);
});

it('counts what is the same in each draw four times, noise once, and what scatters more for less', () => {
  // One frame, of some seven values in the middle band: 23 % of 1.6 kHz, in 10 ms of two hits.
  const [hits, middle] = [2, 15];
  const own = 0.116 * 2 ** (middle / 3) * hits;
  const telling = (scattered: () => number): number => {
    const draws = [0, 1, 2, 3].map(() => ({
      left: Float64Array.from({ length: 26 }, () => 3 - decibels(scattered())),
    }));
    return ((tellingValues(draws, 26, hits)[middle] as Float64Array)[0] as number) / own;
  };
  // Three known differences, and nine of no size.
  const same = telling(() => 1);
  close(same, 12 / 3, { abs: 1e-12, unit: 'of the values of noise', why: 'rounding' });
  const often = (scattered: () => number): number =>
    mean(Array.from({ length: 400 }, () => telling(scattered)));
  // The mean of 12 / (3 + chi squared of nine) is 1.13, and scatters by 2 % here: six times that, since powers are not normal.
  const noise = often(() => drawnPower(Math.round(own)));
  expect(noise).toBeGreaterThan(1);
  expect(noise).toBeLessThan(1.3);
  expect(often(() => drawnPower(Math.round(own / 4)))).toBeLessThan(0.5);
});

it('finds a corner as well as its noise allows', async () => {
  const error = standardError();
  const all = await Promise.all(Array.from({ length: 60 }, () => found(error)));
  const rms = Math.sqrt(mean(all.map((one) => one ** 2)));
  // Of 60 the root mean square scatters by 9 %: thrice that, and the mean of four noises is not quite normal.
  expect(rms / error).toBeGreaterThan(0.73);
  expect(rms / error).toBeLessThan(1.3);
});

it('moves what went back only if that is sure', async () => {
  const error = standardError();
  const right = await Promise.all(Array.from({ length: 60 }, () => found(0, true)));
  // Three standard errors: chance makes 0.3 % of them.
  expect(right.filter((one) => one !== 0).length).toBeLessThanOrEqual(2);
  const wrong = await Promise.all(Array.from({ length: 20 }, () => found(6 * error, true)));
  // Six of them are three more than are asked for: chance hides 0.1 %.
  expect(wrong.filter((one) => one === 6 * error).length).toBeLessThanOrEqual(1);
});
