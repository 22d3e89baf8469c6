/**
 * A module's circuit by itself, outside of any patch: driven sample by sample, its inputs by their place
 * and its outputs by their jacks' names. `harness.ts` runs one on volts at jacks by name.
 */

import seedrandom from 'seedrandom';
import { BLOCK, Machine } from '../../src/engine/machine.ts';
import { siteIn } from '../../src/engine/wiring.ts';
import type { AnyValues, Definition, Edge, Handle, Jack } from '../../src/modules/definition.ts';
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
  /** Input jacks that sound reaches; none unless given. */
  readonly sounds?: readonly string[];
  /** For kinds with `role: 'score'`. */
  readonly edges?: readonly Edge[];
}

/** A circuit that is run a sample at a time. */
export type Solo = {
  /** Takes this sample's volts at each input, in the order of `jacks()`; 0 V where none are given. */
  run(...volts: number[]): void;
} & {
  /** The volts of an output by its jack's name, `by-8` as `by8`; of a switch 1 is closed. */
  readonly [field: string]: number;
};

/** @throws Error if the kind has no circuit, or a setting or jack is named that it lacks. */
export function solo(definition: Definition, place: Place = {}): Solo {
  const stand = new Stand(definition, place);
  let at = 0;
  const made = {
    run(...volts: number[]): void {
      for (const [k, wire] of stand.inputs.entries()) stand.machine.volts(wire)[at] = volts[k] ?? 0;
      stand.machine.step(at, at + 1);
      latest = at;
      at = (at + 1) % BLOCK;
    },
  };
  let latest = 0;
  for (const { name, wire } of stand.outputs)
    Object.defineProperty(made, fieldOf(name), {
      enumerable: true,
      get: () => stand.machine.volts(wire)[latest],
    });
  return made as unknown as Solo;
}

function fieldOf(jack: string): string {
  return jack.replace(/-(.)/g, (_, letter: string) => letter.toUpperCase());
}

/** A machine with one circuit in it, on wires that a test fills and reads. */
export class Stand {
  readonly machine: Machine;
  readonly jacks: readonly Jack[];
  /** The wires of the input jacks, in order. */
  readonly inputs: readonly Handle[];
  /** Those output jacks that somebody listens to. */
  readonly outputs: readonly { readonly name: string; readonly wire: Handle }[];

  constructor(definition: Definition, place: Place, passing = true) {
    const { sampleRate = 48_000, seed = 'test', module = 'module', facts = {}, patched } = place;
    const values = valuesOf(definition, place.settings);
    this.jacks = definition.jacks(values).map((jack) => {
      const given = facts[jack.name];
      return jack.direction === 'in' && given !== undefined ? { ...jack, facts: given } : jack;
    });
    for (const name of Object.keys(facts))
      if (!this.jacks.some((jack) => jack.direction === 'in' && jack.name === name))
        throw new Error(`${definition.kind} has no input ${name}`);
    for (const name of patched ?? [])
      if (!this.jacks.some((jack) => jack.direction === 'out' && jack.name === name))
        throw new Error(`${definition.kind} has no output ${name}`);
    if (definition.create === undefined) throw new Error(`${definition.kind} has no circuit`);
    const machine = new Machine(passing);
    this.machine = machine;
    this.inputs = this.jacks
      .filter(({ direction }) => direction === 'in')
      .map(() => machine.wire());
    this.outputs = this.jacks
      .filter(({ direction, name }) => direction === 'out' && (patched?.includes(name) ?? true))
      .map(({ name }) => ({ name, wire: machine.wire() }));
    const site = siteIn(machine, {
      kind: definition.kind,
      sampleRate,
      jacks: this.jacks,
      inputs: this.inputs,
      driven: (name) => this.outputs.find((output) => output.name === name)?.wire,
      patched: (name) => patched?.includes(name) ?? true,
      sounds: (name) => place.sounds?.includes(name) ?? false,
      seeds: (purpose) => {
        const random = seedrandom.alea(JSON.stringify([seed, module, purpose]));
        return new Uint32Array(4).map(() => random.int32() >>> 0);
      },
      play: (rhythm) => {
        for (const { sample, output, volts } of place.edges ?? [])
          machine.call('rhythmEdge', rhythm, sample, output, volts);
      },
    });
    definition.create(values, site);
  }
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
