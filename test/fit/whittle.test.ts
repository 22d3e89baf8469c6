// How likely a recording is by its powers, against closed forms.

import { expect, it } from 'vitest';
import {
  type DrawResiduals,
  isSteady,
  powerLogs,
  tellingValues,
  unlikeliness,
} from '../../src/fit/whittle.ts';
import { mean } from '../../src/measure/mean.ts';
import { close } from '../close.ts';
import { noisePowers } from '../compare/fit-recordings.ts';

const ROUNDING = { abs: 5e-13, unit: 'nepers', why: 'rounding' };
const drawnPower = noisePowers(88172645);
const decibels = (power: number): number => 10 * Math.log10(power);

it('is 0 for powers in one ratio, and else the logarithm of their mean over their mean logarithm', () => {
  const told = (draws: readonly DrawResiduals[], bands: number, frames: number): number => {
    const values = Array.from({ length: bands }, () => new Float64Array(frames).fill(1));
    return unlikeliness(powerLogs(draws, values), new Float64Array(bands * frames).fill(1));
  };
  close(told([{ left: new Float64Array(8).fill(5) }], 2, 4), 0, ROUNDING);
  // Ratios of 2 and 1/2, whose logarithms are 0 in the mean.
  const left = new Float64Array([2, 1 / 2].map(decibels));
  close(told([{ left }], 1, 2), 2 * Math.log(5 / 4), ROUNDING);
  // Renders of the recording's power, and of three times it, are twice as loud as it in the mean.
  const two = [1, 3].map((power) => ({ left: new Float64Array([-decibels(power), 3]) }));
  const one = { left: new Float64Array([-decibels(2), 3]) };
  close(told(two, 1, 2), told([one], 1, 2), ROUNDING);
  // The second makes no sound.
  const silent = told([one, { left: new Float64Array() }], 1, 2);
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

it('is 0 for what is the same to the last digit, and tells a voice without noise', () => {
  const same = [0, 1].map(() => ({ left: new Float64Array(6) }));
  const values = [new Float64Array(3).fill(2), new Float64Array(3).fill(2)];
  expect(unlikeliness(powerLogs(same, values), new Float64Array(6).fill(2))).toBe(0);
  expect(isSteady(same)).toBe(true);
  const other = { left: new Float64Array(6).fill(0.05, 2) };
  expect(isSteady([...same, other])).toBe(true);
  expect(isSteady([...same, { left: other.left.map((db) => 3 * db) }])).toBe(false);
  expect(isSteady([...same, { left: new Float64Array(5) }])).toBe(false);
});
