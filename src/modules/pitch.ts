/** The settings of every kind with a pitch: its frequency at 0 V, and an interval added to it. */

import type { NumberSpec } from './definition.ts';

/** C2 in equal temperament: 440 Hz x 2^(-33/12). */
const C2_HERTZ = 65.40639132514966;

/** @param min Hz that the kind can go down to. */
export function atZero<const Min extends number>(min: Min) {
  return {
    type: 'frequency',
    min,
    max: 20_000,
    fallback: C2_HERTZ,
    about: 'Frequency at 0 V of pitch. C2 unless set.',
    moved: { jack: 'pitch' },
    tone: { as: 'pitch' },
  } as const satisfies NumberSpec;
}

export const tune = {
  type: 'interval',
  min: -60,
  max: 60,
  fallback: 0,
  about: 'Interval added to the pitch.',
} as const satisfies NumberSpec;
