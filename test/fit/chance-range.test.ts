// The range that is told of a setting, by brute force: distances whose minimum is known, moved by the noise of a
// recording and of each draw of a render, all of the same size. The setting is put where the search would have ended.

import { expect, it } from 'vitest';
import { chanceRange } from '../../src/fit/chance-range.ts';
import type { Knob } from '../../src/fit/settings.ts';
import { uniform } from '../compare/fit-recordings.ts';

const TRUE_HZ = 1000;
const knob: Knob = {
  ...{ path: 'voice.cutoff', module: 'voice', setting: 'cutoff', words: undefined },
  ...{ before: TRUE_HZ, low: 20, high: 20_000, isRatio: true },
  spec: { type: 'frequency', min: 20, max: 20_000, fallback: TRUE_HZ, toldBy: 'cutoff', about: '' },
};
/** By how many dB the distance rises at 10 % of its minimum. */
const BEND = 0.05;
const TENTH = Math.log(1.1);
const next = uniform(2463534242);
/** Nearly normal, of standard deviation 1: the sum of three uniform numbers, each of variance 1/3. */
const normal = (): number => next() + next() + next();

/** A setting found with so much noise, in dB at 10 %, and what is told of it. */
async function told(noise: number) {
  const recording = noise * normal();
  const draws = [0, 1, 2, 3].map(() => ({ slope: recording + noise * normal(), own: normal() }));
  // In moves of 10 % from the truth.
  const db = (hz: number, { slope, own }: (typeof draws)[number]): number => {
    const x = Math.log(hz / TRUE_HZ) / TENTH;
    return 1 + (noise > 0 ? 0.01 * own : 0) + BEND * x * x + slope * x;
  };
  const found = TRUE_HZ * Math.exp((-TENTH * (draws[0]?.slope ?? 0)) / (2 * BEND));
  const of = (draw: number) => async (values: readonly number[]) =>
    db(values[0] as number, draws[draw] as (typeof draws)[number]);
  const tries = {
    best: { values: [found], db: 0 },
    prepare: () => {},
    aside: of(0),
    drawn: (values: readonly number[], draw: number) => of(draw)(values),
  };
  return { found, range: await chanceRange(tries, knob, 0) };
}

/** How many of 100 settings are within what is told of them, 10 % where that is nothing; and how many ranges are told. */
async function within(noise: number): Promise<{ readonly right: number; readonly told: number }> {
  const all = await Promise.all(Array.from({ length: 1000 }, () => told(noise)));
  const right = all.filter(({ found, range }) => {
    const low = range === null ? found / 1.1 : (range.low ?? 0);
    const high = range === null ? found * 1.1 : (range.high ?? Number.POSITIVE_INFINITY);
    return low <= TRUE_HZ && TRUE_HZ <= high;
  });
  return { right: right.length / 10, told: all.filter(({ range }) => range !== null).length / 10 };
}

it('has the true value in 95 of 100 cases, however much noise there is', async () => {
  // Standard errors of 1 %, 5 % and 20 % of the frequency: both noises together move it by sqrt(2) s / 2 b moves.
  for (const error of [0.1, 0.5, 2]) {
    const { right, told: ranges } = await within((error * 2 * BEND) / Math.SQRT2);
    // Of 1000 cases chance makes 0.7 %; thrice that.
    expect(right).toBeGreaterThan(95 - 2.1);
    // 3.18 errors, themselves known from four draws: hardly ever over 10 % for the first, nearly always for the last.
    if (error === 0.1) expect(ranges).toBeLessThan(5);
    if (error === 2) expect(ranges).toBeGreaterThan(95);
  }
});

it('is not told without noise', async () => {
  expect((await told(0)).range).toBeNull();
});
