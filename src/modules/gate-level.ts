/** The setting that every kind with gate outputs has: how many volts they give when on. */

import type { NumberSpec } from './definition.ts';

/** 5 V unless set. Source: common practice, no source. */
export const gateLevel = {
  type: 'voltage',
  min: 1,
  max: 12,
  fallback: 5,
  about: 'High voltage of its gate outputs; low is 0 V.',
} as const satisfies NumberSpec;
