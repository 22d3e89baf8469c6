/** Onsets as the detector finds them, against those that are known. */

import { expect } from 'vitest';
import { OnsetDetector } from '../../src/measure/hits/onsets.ts';
import { close } from '../close.ts';

/** Hz. */
export const RATE = 48_000;

/** Onsets in s. @param block how many samples are handed over at once. */
export function onsets(samples: Float64Array, rate = RATE, block = 4096): number[] {
  const detector = new OnsetDetector(rate);
  for (let from = 0; from < samples.length; from += block) {
    const part = samples.subarray(from, from + block);
    detector.add(part, part.length);
  }
  return detector.finish().map(({ sample }) => sample / rate);
}

/** Every expected onset is found within 1 ms, the promise, and nothing else. */
export function expectOnsets(found: readonly number[], expected: readonly number[]): void {
  const text = `found ${found.map((t) => t.toFixed(4)).join(' ')}`;
  expect(found.length, text).toBe(expected.length);
  expected.forEach((time, k) => {
    close(found[k], time, { abs: 0.001, unit: 's', why: `the promise for onsets; ${text}` });
  });
}

/** How many of the expected onsets are found within 1 ms. */
export function countOnsets(found: readonly number[], expected: readonly number[]): number {
  return expected.filter((time) => found.some((one) => Math.abs(one - time) < 0.001)).length;
}
