/** Where a module's circuit is put: its jacks' wires, and the machine that it is made in. */

import {
  type Handle,
  type InputJack,
  type Jack,
  NO_WIRE,
  type Site,
} from '../modules/definition.ts';
import { comparatorOf } from '../modules/dsp/trigger-input.ts';
import type { InputFacts } from '../modules/facts.ts';
import type { Machine } from './machine.ts';

export interface Place {
  readonly kind: string;
  /** Hz. */
  readonly sampleRate: number;
  readonly jacks: readonly Jack[];
  /** The wires of its input jacks, in order. */
  readonly inputs: readonly Handle[];
  /** The wire that an output jack drives, or undefined if nobody listens. */
  driven(jack: string): Handle | undefined;
  patched(jack: string): boolean;
  sounds(jack: string): boolean;
  seeds(purpose: string): Uint32Array;
  play(rhythm: Handle): void;
}

/** Gives a module the place that it is made in. */
export function siteIn(machine: Machine, place: Place): Site {
  const { kind, sampleRate, jacks, inputs } = place;
  const inputJacks = jacks.filter((jack): jack is InputJack => jack.direction === 'in');
  const indexOf = (jack: string): number => {
    const index = inputJacks.findIndex(({ name }) => name === jack);
    if (index === -1) throw new Error(`${kind} has no input ${jack}`);
    return index;
  };
  const facts = (jack: string): InputFacts => (inputJacks[indexOf(jack)] as InputJack).facts;
  // A wire that is filled and that nobody reads.
  const output = (jack: string): Handle => place.driven(jack) ?? machine.wire();
  return {
    sampleRate,
    facts,
    patched: (jack) => place.patched(jack),
    sounds: (jack) => place.sounds(jack),
    input: (jack) => inputs[indexOf(jack)] as Handle,
    output,
    heard: (jack) => place.driven(jack) ?? NO_WIRE,
    trigger: (jack) => machine.call('triggerInput', ...comparatorOf(facts(jack), sampleRate)),
    seeds: (purpose) => {
      const [a = 0, b = 0, c = 0, d = 0] = place.seeds(purpose);
      return [a, b, c, d];
    },
    samples: (list) => machine.samples(list),
    make: (circuit, ...values) => machine.make(circuit, ...values),
    call: (name, ...values) => {
      machine.call(name, ...values);
    },
    run: (circuit) => {
      const outputs = jacks.filter(({ direction }) => direction === 'out');
      machine.run(
        circuit,
        inputs,
        outputs.map(({ name }) => output(name)),
      );
    },
    play: (rhythm) => place.play(rhythm),
  };
}
