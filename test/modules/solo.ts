/** A module running by itself, out of any patch. */

import type { AnyValues, Circuit, Definition } from '../../src/modules/definition.ts';
import type { InputFacts } from '../../src/modules/facts.ts';

/** Outputs by jack field, whatever the kind. */
export type Solo = Circuit & { readonly [field: string]: number };

export interface SoloOptions {
  readonly settings?: AnyValues;
  readonly rate?: number;
  /** Output jacks with a cable; all of them unless given. */
  readonly patched?: readonly string[];
  /** Replaces the facts of the input called trigger. */
  readonly facts?: InputFacts;
}

export function solo(definition: Definition, options: SoloOptions = {}): Solo {
  const { settings = {}, rate = 48_000, patched, facts } = options;
  const fallbacks = Object.entries(definition.settings).map(([name, spec]) => [
    name,
    'fallback' in spec ? spec.fallback : undefined,
  ]);
  const values = { ...Object.fromEntries(fallbacks), ...settings };
  const jacks = definition.jacks(values);
  const circuit = definition.create?.(values, {
    sampleRate: rate,
    patched: (jack) => patched === undefined || patched.includes(jack),
    input: (name) => {
      const jack = jacks.find((one) => one.name === name);
      if (jack?.direction !== 'in') throw new Error(`no input ${name}`);
      return name === 'trigger' && facts !== undefined ? facts : jack.facts;
    },
    seeds: () => new Uint32Array(4),
    nextEdge: () => undefined,
  });
  if (circuit === undefined) throw new Error(`${definition.kind} does not run`);
  return circuit as Solo;
}

/** Volts at one output while the first input is driven by `drive(sample)`, the others being open. */
export function record(
  circuit: Solo,
  field: string,
  length: number,
  drive: (sample: number) => number = () => 0,
): Float64Array {
  const volts = new Float64Array(length);
  for (let n = 0; n < length; n++) {
    circuit.run(drive(n), 0, 0, 0, 0);
    volts[n] = circuit[field] as number;
  }
  return volts;
}
