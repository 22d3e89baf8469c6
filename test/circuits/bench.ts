/** A module's circuit on a bench: volts at its input jacks by name, volts at its output jacks. */

import seedrandom from 'seedrandom';
import { Machine } from '../../src/engine/machine.ts';
import {
  type AnyValues,
  type Definition,
  type Edge,
  type Handle,
  NO_WIRE,
  type Site,
} from '../../src/modules/definition.ts';
import { comparatorOf } from '../../src/modules/dsp/trigger-input.ts';
import type { InputFacts } from '../../src/modules/facts.ts';

/** Samples in a block. */
export const BLOCK = 128;

/** Where circuits run: the WebAssembly that ships, or JavaScript (`plain.ts`). */
export interface Host {
  /** Stands for a wire that is not there. */
  readonly none: Handle;
  make(name: string, ...values: readonly (Handle | number | boolean)[]): Handle;
  call(name: string, ...values: readonly (Handle | number | boolean)[]): Handle;
  wire(gain?: number): Handle;
  constant(volts: number): Handle;
  volts(wire: Handle): Float64Array;
  filled(wire: Handle): void;
  samples(list: Float64Array): Handle;
  step(from: number, to: number): void;
  next(): unknown;
}

export class Wasm extends Machine implements Host {
  readonly none = NO_WIRE;
}

export interface Place {
  /** Hz. */
  readonly sampleRate: number;
  /** Every setting of the kind, in the units of `Quantity`. */
  readonly values: AnyValues;
  /** Jacks with a cable, inputs and outputs. */
  readonly patched: readonly string[];
  /** Those of its inputs that sound reaches; none unless given. */
  readonly sounds?: readonly string[];
  /** Facts of input jacks that differ from the definition's. */
  readonly facts?: Readonly<Record<string, InputFacts>>;
  /** For kinds with `role: 'score'`. */
  readonly edges?: readonly Edge[];
  /** What each output's volts are multiplied by on their way to its wire. */
  readonly gain?: number;
}

export type Signals = Readonly<Record<string, Float64Array>>;

/** Four 32-bit seeds for a purpose, always the same. */
export function seedsFor(purpose: string): readonly [number, number, number, number] {
  const random = seedrandom.alea(purpose);
  return [random.int32(), random.int32(), random.int32(), random.int32()];
}

export class Bench {
  readonly host: Host;
  private readonly inputs = new Map<string, Handle>();
  private readonly outputs = new Map<string, Handle>();

  constructor(host: Host, definition: Definition, place: Place) {
    this.host = host;
    const { sampleRate, values, patched, facts = {}, gain = 1 } = place;
    const jacks = definition.jacks(values);
    const factsOf = (name: string): InputFacts => {
      const jack = jacks.find((candidate) => candidate.name === name);
      if (jack?.direction !== 'in') throw new Error(`${definition.kind} has no input ${name}`);
      return facts[name] ?? jack.facts;
    };
    for (const jack of jacks) {
      const isPatched = patched.includes(jack.name);
      if (jack.direction === 'in')
        this.inputs.set(
          jack.name,
          isPatched ? host.wire() : host.constant(factsOf(jack.name).rest),
        );
      else if (jack.direction === 'out' && isPatched)
        // A switch gives 1 or 0, of which its net makes volts.
        this.outputs.set(jack.name, host.wire(jack.signal === 'switch' ? 1 : gain));
    }
    const site: Site = {
      sampleRate,
      facts: factsOf,
      patched: (name) => patched.includes(name),
      sounds: (name) => place.sounds?.includes(name) ?? false,
      input: (name) => this.inputs.get(name) as Handle,
      output: (name) => this.outputs.get(name) ?? host.wire(gain),
      heard: (name) => this.outputs.get(name) ?? host.none,
      trigger: (name) => {
        return host.call('triggerInput', ...comparatorOf(factsOf(name), sampleRate));
      },
      seeds: seedsFor,
      samples: (list) => host.samples(list),
      make: (name, ...given) => host.make(name, ...given),
      call: (name, ...given) => void host.call(name, ...given),
      run: () => {
        throw new Error('no circuits in JavaScript here');
      },
      play: (rhythm) => {
        for (const { sample, output, volts } of place.edges ?? [])
          host.call('rhythmEdge', rhythm, sample, output, volts);
      },
    };
    if (definition.create === undefined) throw new Error(`${definition.kind} has no circuit`);
    definition.create(values, site);
  }

  /**
   * Runs the circuit on from where it is.
   * @param blocks how many.
   * @param signals volts at its patched inputs.
   * @param splits where each block is split, 1 to 127; nothing is passed over then.
   * @returns volts at every patched output.
   */
  run(blocks: number, signals: Signals, splits?: readonly number[]): Signals {
    const { host } = this;
    const given: Record<string, Float64Array> = {};
    for (const name of this.outputs.keys()) given[name] = new Float64Array(blocks * BLOCK);
    for (let at = 0; at < blocks * BLOCK; at += BLOCK) {
      for (const [name, signal] of Object.entries(signals)) {
        const wire = this.inputs.get(name) as Handle;
        host.volts(wire).set(signal.subarray(at, at + BLOCK));
        host.filled(wire);
      }
      if (splits === undefined) host.next();
      else {
        let from = 0;
        for (const to of [...splits, BLOCK]) {
          host.step(from, to);
          from = to;
        }
      }
      for (const [name, wire] of this.outputs) given[name]?.set(host.volts(wire), at);
    }
    return given;
  }
}
