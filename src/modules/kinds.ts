/** Every kind of module. A new kind is one new file beside this one and one line here. */

import { amplifier } from './amplifier.ts';
import { attenuator } from './attenuator.ts';
import { burst } from './burst.ts';
import { clock } from './clock.ts';
import { clockDivider } from './clock-divider.ts';
import { cluster } from './cluster.ts';
import { comparator } from './comparator.ts';
import { compressor } from './compressor.ts';
import { crossfader } from './crossfader.ts';
import type { Definition } from './definition.ts';
import { delay } from './delay.ts';
import { delayLine } from './delay-line.ts';
import { envelope } from './envelope.ts';
import { envelopeFollower } from './envelope-follower.ts';
import { filter } from './filter.ts';
import { fixedBank } from './fixed-bank.ts';
import { frequencyShifter } from './frequency-shifter.ts';
import { ladder } from './ladder.ts';
import { logic } from './logic.ts';
import { lowPassGate } from './low-pass-gate.ts';
import { mixer } from './mixer.ts';
import { multiple } from './multiple.ts';
import { noise } from './noise.ts';
import { oscillator } from './oscillator.ts';
import { output } from './output.ts';
import { panner } from './panner.ts';
import { pulse } from './pulse.ts';
import { quantizer } from './quantizer.ts';
import { random } from './random.ts';
import { recording } from './recording.ts';
import { resonator } from './resonator.ts';
import { reverberator } from './reverberator.ts';
import { rhythm } from './rhythm.ts';
import { ring } from './ring.ts';
import { sampleHold } from './sample-hold.ts';
import { sequentialSwitch } from './sequential-switch.ts';
import { shaper } from './shaper.ts';
import { slew } from './slew.ts';
import { stepSequencer } from './step-sequencer.ts';
import { triggerConverter } from './trigger-converter.ts';

/** In the order in which a newcomer meets them. */
export const KINDS: readonly Definition[] = [
  // Time and triggers.
  rhythm,
  triggerConverter,
  clock,
  clockDivider,
  stepSequencer,
  sequentialSwitch,
  pulse,
  delay,
  burst,
  logic,
  comparator,
  // Sources.
  noise,
  oscillator,
  cluster,
  recording,
  // Shapes of sound.
  filter,
  ladder,
  resonator,
  fixedBank,
  shaper,
  ring,
  delayLine,
  frequencyShifter,
  reverberator,
  // Control voltages.
  envelope,
  envelopeFollower,
  slew,
  sampleHold,
  random,
  quantizer,
  attenuator,
  // Levels, sums and the way out.
  amplifier,
  lowPassGate,
  compressor,
  mixer,
  crossfader,
  panner,
  multiple,
  output,
];

/** For what reads a patch's texts again: which kinds of module they may have. */
export interface KindsOption {
  /** Those that the patch was read with: {@link KINDS} unless given, and any of one's own. */
  readonly kinds?: readonly Definition[];
}

/** The definition of a kind, or undefined if no kind has that name. */
export function kindNamed(kind: string): Definition | undefined {
  return KINDS.find((definition) => definition.kind === kind);
}
