// Against the arithmetic of IEEE 754, which is what a browser computes with: Web Audio gives times in seconds.

import fc from 'fast-check';
import { expect, it } from 'vitest';
import { exactFrom, isExact, untilExact } from '../../../src/page/pieces/exact-frames.ts';

const RATES = [44_100, 48_000, 88_200, 96_000, 176_400, 192_000];
/** A day of a clock, and ten minutes of a sound, at the highest rate. */
const frames = fc.nat(24 * 3600 * 192_000);
const places = fc.nat(600 * 192_000);

it('are found a moment later where a frame is none, and at once where both are', () => {
  fc.assert(
    fc.property(frames, places, fc.constantFrom(...RATES), (clock, place, rate) => {
      const later = untilExact(clock, place, rate);
      // 0.6 ms at the lowest rate: nobody hears that a sound begins by so much later.
      expect(later).toBeLessThan(25);
      expect([isExact(clock + later, rate), isExact(place + later, rate)]).toEqual([true, true]);
      for (let sooner = 0; sooner < later; sooner++)
        expect(isExact(clock + sooner, rate) && isExact(place + sooner, rate)).toBe(false);
    }),
  );
});

it('are found for one alone', () => {
  fc.assert(
    fc.property(frames, fc.constantFrom(...RATES), (frame, rate) => {
      const exact = exactFrom(frame, rate);
      expect(isExact(exact, rate)).toBe(true);
      for (let before = frame; before < exact; before++) expect(isExact(before, rate)).toBe(false);
    }),
  );
  // What is heard from its start is.
  for (const rate of RATES) expect(exactFrom(0, rate)).toBe(0);
});

it('are not all there are: frame 897,825 at 48 kHz is one that was mixed', () => {
  expect(isExact(897_825, 48_000)).toBe(false);
  expect(untilExact(897_825, 115_200, 48_000)).toBeGreaterThan(0);
});
