/** Shared by kinds with gate outputs: the volts of a gate when on, and the length of a pulse. */

import type { NumberSpec } from './definition.ts';

/** 5 V unless set. Source: common practice, no source. */
export const gateLevel = {
  type: 'voltage',
  min: 1,
  max: 12,
  fallback: 5,
  about: 'High voltage of its gate outputs; low is 0 V.',
} as const satisfies NumberSpec;

/** Gives a pulse's length in whole samples, one at least. */
export function pulseSamples(seconds: number, sampleRate: number): number {
  return Math.max(1, Math.round(seconds * sampleRate));
}
