/**
 * A module's circuit by itself, out of any patch: driven sample by sample, its inputs by their place
 * and its outputs by their field. `harness.ts` runs one on volts at jacks by name.
 */

import seedrandom from 'seedrandom';
import type { AnyValues, Circuit, Definition, Edge } from '../../src/modules/definition.ts';
import type { InputFacts } from '../../src/modules/facts.ts';

export interface Place {
  /** Hz; 48000 unless given. */
  readonly sampleRate?: number;
  /** Settings that differ from the kind's defaults, in the units of `Quantity`. */
  readonly settings?: AnyValues;
  readonly seed?: string;
  /** Name of the module; with the seed it decides every random thing. */
  readonly module?: string;
  /** Facts of input jacks that differ from the definition's. */
  readonly facts?: Readonly<Record<string, InputFacts>>;
  /** Output jacks with a cable; all of them unless given. */
  readonly patched?: readonly string[];
  /** For kinds with `role: 'score'`. */
  readonly edges?: readonly Edge[];
}

/** Outputs by jack field, whatever the kind. */
export type Solo = Circuit & { readonly [field: string]: number };

/** @throws Error if the kind has no circuit, or a setting or jack is named that it lacks. */
export function solo(definition: Definition, place: Place = {}): Solo {
  const { sampleRate = 48_000, seed = 'test', module = 'module', facts = {}, patched } = place;
  const values = valuesOf(definition, place.settings);
  const jacks = definition.jacks(values);
  const factsOf = (name: string): InputFacts => {
    const jack = jacks.find((candidate) => candidate.name === name);
    if (jack?.direction !== 'in') throw new Error(`${definition.kind} has no input ${name}`);
    return facts[name] ?? jack.facts;
  };
  Object.keys(facts).forEach(factsOf);
  for (const name of patched ?? [])
    if (!jacks.some((jack) => jack.direction === 'out' && jack.name === name))
      throw new Error(`${definition.kind} has no output ${name}`);
  if (definition.create === undefined) throw new Error(`${definition.kind} has no circuit`);
  const edges = (place.edges ?? [])[Symbol.iterator]();
  return definition.create(values, {
    sampleRate,
    input: factsOf,
    patched: (name) => patched?.includes(name) ?? true,
    seeds: (purpose) => {
      const random = seedrandom.alea(JSON.stringify([seed, module, purpose]));
      return Uint32Array.from({ length: 4 }, () => random.int32() >>> 0);
    },
    nextEdge: () => edges.next().value,
  }) as Solo;
}

/** All settings of a kind, its defaults where none are given. @throws Error if it lacks one given. */
export function valuesOf(definition: Definition, settings: AnyValues = {}): AnyValues {
  const values: Record<string, unknown> = {};
  for (const [name, spec] of Object.entries(definition.settings))
    if ('fallback' in spec) values[name] = spec.fallback;
  for (const [name, value] of Object.entries(settings)) {
    if (!(name in definition.settings)) throw new Error(`${definition.kind} has no ${name}`);
    values[name] = value;
  }
  return values;
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
