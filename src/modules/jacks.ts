/** Short forms for jacks: most inputs and outputs of a kind need only their signal and what they are for. */

import type { InputJack, OutputJack, Signal } from './definition.ts';
import { type InputFacts, type OutputFacts, plain, usualVolts } from './facts.ts';

export function jackIn(
  name: string,
  signal: Signal,
  about: string,
  facts: InputFacts = plain(),
): InputJack {
  return { name, direction: 'in', signal, about, facts };
}

export function jackOut(
  name: string,
  signal: Signal,
  about: string,
  facts: OutputFacts = usualVolts(-5, 5),
): OutputJack {
  return { name, direction: 'out', signal, about, facts };
}
