/** Every kind of module there is. A new kind is one new file beside this one and one line here. */

import { amplifier } from './amplifier.ts';
import { attenuator } from './attenuator.ts';
import type { Definition } from './definition.ts';
import { envelope } from './envelope.ts';
import { filter } from './filter.ts';
import { mixer } from './mixer.ts';
import { multiple } from './multiple.ts';
import { noise } from './noise.ts';
import { oscillator } from './oscillator.ts';
import { output } from './output.ts';
import { rhythm } from './rhythm.ts';
import { triggerConverter } from './trigger-converter.ts';

/** In the order in which a newcomer meets them: time, triggers, sources, shapes, sums, the end. */
export const KINDS: readonly Definition[] = [
  rhythm,
  triggerConverter,
  noise,
  oscillator,
  filter,
  envelope,
  amplifier,
  mixer,
  attenuator,
  multiple,
  output,
];

/** The definition of a kind, or undefined if there is none of that name. */
export function kindNamed(kind: string): Definition | undefined {
  return KINDS.find((definition) => definition.kind === kind);
}
