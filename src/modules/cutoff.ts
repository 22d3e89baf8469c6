/** The inputs of every filter with a cutoff, and the setting of how far the control input moves it. */

import type { InputJack, NumberSpec } from './definition.ts';
import { jackIn } from './jacks.ts';

/** The highest q that a fit tries: a filter above it rings on longer. Chosen by listening. */
export const TRIED_Q = 20;

export const controlAmount = {
  type: 'percent',
  min: -1,
  max: 1,
  fallback: 1,
  about: 'How far control moves the cutoff: 100 % is an octave a volt; negative moves it down.',
  input: 'control',
} as const satisfies NumberSpec;

export function filterInputs(): readonly InputJack[] {
  return [
    jackIn('in', 'audio', 'What is filtered.'),
    jackIn('control', 'control', 'Moves the cutoff, an octave a volt at 100 %.'),
  ];
}
