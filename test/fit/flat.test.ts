// The range that chance may have led to, in the units of a setting.

import { expect, it } from 'vitest';
import { chanceRange } from '../../src/fit/flat.ts';
import type { Knob } from '../../src/fit/settings.ts';
import { close } from '../close.ts';

const knob = (type: string, low: number, high: number, isRatio: boolean): Knob =>
  ({
    ...{ path: 'voice.one', module: 'voice', setting: 'one', words: undefined, before: high },
    ...{ low, high, isRatio, spec: { type, min: low, max: high } },
  }) as unknown as Knob;
const CUTOFF = knob('frequency', 20, 20_000, true);
const LEVEL = knob('percent', -2, 2, false);
const FOUR_DIGITS = { rel: 1e-3, unit: '', why: 'a value has four digits' };

it('is told where it goes beyond 10 %, as a ratio', () => {
  expect(chanceRange(CUTOFF, 1000, Math.log(1.05))).toBeNull();
  const wide = chanceRange(CUTOFF, 1000, Math.log(1.5));
  close(wide?.low ?? 0, 1000 / 1.5, FOUR_DIGITS);
  close(wide?.high ?? 0, 1500, FOUR_DIGITS);
});

it('has no bound at the end of what is searched', () => {
  const wide = chanceRange(CUTOFF, 15_000, Math.log(2));
  close(wide?.low ?? 0, 7500, FOUR_DIGITS);
  expect(wide?.high).toBeNull();
});

it('ends at 0, where a level is silent and beyond which it is upside down', () => {
  // The whole range, 400 %, is four units long: one unit is 100 %.
  expect(chanceRange(LEVEL, 0.5, 1)).toEqual({ low: 0, high: 1.5 });
  expect(chanceRange(LEVEL, -0.5, 3)).toEqual({ low: null, high: 0 });
  expect(chanceRange(LEVEL, 0.5, 0.3)).toBeNull();
});
