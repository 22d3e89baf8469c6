/** What every filter with a cutoff has: its inputs, and how far one of them moves the cutoff. */

import type { InputJack, NumberSpec } from './definition.ts';
import { plain } from './facts.ts';

export const controlAmount = {
  type: 'percent',
  min: -1,
  max: 1,
  fallback: 1,
  about: 'How far control moves the cutoff: 100 % is an octave a volt; negative moves it down.',
} as const satisfies NumberSpec;

export function filterInputs(): readonly InputJack[] {
  return [
    {
      name: 'in',
      direction: 'in',
      signal: 'audio',
      about: 'What is filtered.',
      facts: plain(),
    },
    {
      name: 'control',
      direction: 'in',
      signal: 'control',
      about: 'Moves the cutoff, an octave a volt at 100 %.',
      facts: plain(),
    },
  ];
}
