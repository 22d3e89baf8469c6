// Where a recording is likeliest, against closed forms: noises whose powers are drawn as those of a noise are, through a low-pass
// whose corner is to be found again. How well it can be found follows from the slope of each band's logarithm.

import { expect, it } from 'vitest';
import {
  chanceAt,
  chanceTries,
  comeLikelier,
  likelyTries,
  NO_CHANCE,
  STATED_ERRORS,
} from '../../src/fit/likely.ts';
import { mean } from '../../src/measure/mean.ts';
import { close } from '../close.ts';
import { noisePowers } from '../compare/fit-recordings.ts';

const BANDS = 13;
/** Powers of few values would be off in the mean of some renders, too: one frame of many hits has five values or more. */
const FRAMES = 1;
const HITS = 40;
const DRAWS = 16;
/** Independent values of a power: 10 ms of a third octave of 50 Hz and up, which is 0.23 of its frequency wide. */
const valuesIn = (band: number): number =>
  Math.max(1, Math.round(0.23 * 50 * 2 ** (band / 3) * 0.01 * HITS));
const drawnPower = noisePowers(88172645);
const decibels = (power: number): number => 10 * Math.log10(power);

const drawnPowers = (): readonly Float64Array[] =>
  Array.from({ length: BANDS }, (_, band) =>
    new Float64Array(FRAMES).map(() => drawnPower(valuesIn(band))),
  );
/** Two poles whose corner is `octaves` above the middle band; `natural` logarithm of its power. */
const passed = (band: number, corner: number): number =>
  -Math.log(1 + Math.exp(4 * (((band - 6) / 3) * Math.LN2 - corner)));
/** The natural logarithm of the power of each band at a place, whose true values are all 0. */
type Voice = (band: number, place: readonly number[]) => number;
const ONE: Voice = (band, [corner = 0]) => passed(band, corner);
/** Two settings that move the corner, of which one does something else besides: they make up for one another. */
const TWO: Voice = (band, [one = 0, other = 0]) => passed(band, one + other) + 0.1 * other * band;

/** A recording of a voice, and its renders. */
function heard(voice: Voice, start: readonly number[], noise = 1) {
  const recording = drawnPowers();
  const draws = Array.from({ length: DRAWS }, drawnPowers);
  const truth = start.map(() => 0);
  const residuals = (place: readonly number[], draw: number): Float64Array =>
    Float64Array.from({ length: BANDS * FRAMES }, (_, k) => {
      const [band, frame] = [Math.floor(k / FRAMES), k % FRAMES];
      const powers = [recording, draws[draw] as typeof recording].map(
        (one) => (one[band] as Float64Array)[frame] as number,
      ) as [number, number];
      const own = voice(band, truth) - voice(band, place);
      return noise * decibels(powers[0] / powers[1]) + (10 / Math.LN10) * own;
    });
  const db = (place: readonly number[], draw: number): number =>
    mean([...residuals(place, draw)].map(Math.abs));
  const tries = {
    done: 0,
    best: { values: start, db: db(start, 0) },
    prepare: () => {},
    aside: async (place: readonly number[]) => db(place, 0),
    drawn: async (place: readonly number[], draw: number) => db(place, draw),
    partsAt: async (place: readonly number[], draw = 0) => {
      tries.done++;
      return { left: residuals(place, draw), weights: new Float64Array() };
    },
  };
  const search = {
    bounds: start.map(() => ({ low: -1, high: 1 })),
    valuesOf: (place: readonly number[]) => place,
    evaluate: async () => 0,
    isOver: () => false,
  };
  return { tries, search };
}

/** What is found from a place on, and the standard errors that are told of it. */
async function found(voice: Voice, from: readonly number[], isBack = false) {
  const { tries, search } = heard(voice, from);
  const axes = [...from.keys()];
  const back = new Map(isBack ? axes.map((axis) => [axis, from[axis] as number]) : []);
  const upTo = likelyTries(from.length);
  const { errors, pairs } = await comeLikelier(tries, search, {
    ...{ axes, from, back, upTo, bands: BANDS, hits: HITS },
  });
  expect(tries.done).toBeLessThanOrEqual(upTo);
  return { place: tries.best.values, errors, pairs };
}

/**
 * The standard error of a corner: of the logarithm of a mean of n powers it is 1 / sqrt(n), of the render's draws together
 * a quarter of that; a level that all bands have in common is free.
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
  return Math.sqrt((1 + 1 / DRAWS) / told);
}

it('finds a corner as well as its noise allows, and tells how well that is', async () => {
  const error = standardError();
  const all = await Promise.all(Array.from({ length: 60 }, () => found(ONE, [error])));
  const rms = Math.sqrt(mean(all.map(({ place }) => (place[0] as number) ** 2)));
  // Of 60 the root mean square scatters by 9 %: thrice that, and the mean of some noises is not quite normal.
  expect(rms / error).toBeGreaterThan(0.73);
  expect(rms / error).toBeLessThan(1.3);
  // Each is known from 16 draws, to 18 %, and the mean of 60 to 2.4 %: thrice that, and for what is not normal as much.
  close(mean(all.map(({ errors }) => errors.get(0) as number)), error, {
    ...{ rel: 0.14, unit: 'of a factor of e', why: 'three standard errors, and as much again' },
  });
});

it.each([
  { name: 'one setting', voice: ONE },
  { name: 'two that make up for one another', voice: TWO },
])('has the true value of $name within what is told in 95 of 100', async ({ voice }) => {
  const start = voice === ONE ? [0.1] : [0.1, -0.1];
  const all = await Promise.all(Array.from({ length: 200 }, () => found(voice, start)));
  for (const axis of start.keys()) {
    const right = all.filter(
      ({ place, errors }) =>
        Math.abs(place[axis] as number) <= STATED_ERRORS * (errors.get(axis) as number),
    );
    // Of 200 chance makes 1.5 %, thrice that; and a corner is not quite linear that far off.
    expect(right.length / 2).toBeGreaterThan(95 - 4.6 - 2);
  }
});

it('tells of two that make up for one another far more than of each alone', async () => {
  const told = async (voice: Voice, axes: readonly number[]): Promise<number> => {
    const { tries, search } = heard(voice, [0, 0]);
    const looked = { bands: BANDS, hits: HITS, from: [0, 0], axes };
    const { errors, pairs } = await chanceAt(tries, search, looked);
    expect(pairs).toEqual(axes.length < 2 ? [] : [{ axes: [0, 1], isSame: false }]);
    expect(tries.done).toBeLessThanOrEqual(chanceTries(2));
    return errors.get(0) as number;
  };
  const alone = await told(TWO, [0]);
  expect(alone / standardError()).toBeGreaterThan(0.5);
  expect((await told(TWO, [0, 1])) / alone).toBeGreaterThan(3);
});

it('comes to the very values of a voice without noise, with one draw, and tells no range', async () => {
  const { tries, search } = heard(TWO, [0.3, -0.2], 1e-6);
  const likely = { axes: [0, 1], from: [0.3, -0.2], back: new Map(), bands: BANDS, hits: HITS };
  expect(await comeLikelier(tries, search, { ...likely, upTo: 400 })).toBe(NO_CHANCE);
  for (const one of tries.best.values)
    close(one, 0, {
      abs: 2e-3,
      unit: 'of a factor of e',
      why: 'a fifth of a percent: a gain of 0.05 nepers ends it',
    });
});

it('moves what went back only if that is sure', async () => {
  const error = standardError();
  const places = async (count: number, from: number): Promise<readonly number[]> => {
    const all = await Promise.all(Array.from({ length: count }, () => found(ONE, [from], true)));
    return all.map(({ place }) => place[0] as number);
  };
  // Three standard errors: chance makes 0.3 % of them, and of errors known from 16 draws 0.9 %.
  expect((await places(60, 0)).filter((one) => one !== 0).length).toBeLessThanOrEqual(3);
  // Six of them are three more than are asked for: chance hides 0.1 %, or 1 %.
  const wrong = 6 * error;
  expect((await places(20, wrong)).filter((one) => one === wrong).length).toBeLessThanOrEqual(2);
});

it('stays where the distance would rise by more than its chance', async () => {
  const start = 6 * standardError();
  type Rise = (place: readonly number[], draw?: number) => Promise<number>;
  const ended = async (distance: Rise): Promise<number> => {
    const { tries, search } = heard(ONE, [start]);
    const likely = { axes: [0], from: [start], back: new Map(), bands: BANDS, hits: HITS };
    const risen = { ...tries, best: { values: [start], db: 1 }, aside: distance, drawn: distance };
    await comeLikelier(risen, search, { ...likely, upTo: likelyTries(1) });
    return risen.best.values[0] as number;
  };
  const far = ([corner = 0]: readonly number[]): number => Math.abs(corner - start);
  // In all draws alike, so that none of it is chance; or as much up in one as down in the next.
  expect(await ended(async (place) => 1 + far(place))).toBe(start);
  const byChance: Rise = async (place, draw = 0) => 1 + (draw % 2 === 0 ? 1 : -1) * far(place);
  expect(await ended(byChance)).toBeLessThan(start / 2);
});
