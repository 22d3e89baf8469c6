/** A module's circuit on a bench: volts at its input jacks by name, volts at its output jacks. */

import type { Circuit, Definition, Jack, OutputJack } from '../../src/modules/definition.ts';
import { type Place, solo, valuesOf } from './solo.ts';

/** Volts at an input: steady, one a sample, or worked out from the sample's index. */
export type Volts = number | ArrayLike<number> | ((sample: number) => number);

export class Bench {
  readonly jacks: readonly Jack[];
  readonly circuit: Circuit;
  private readonly inputs: readonly { readonly name: string; readonly rest: number }[];
  private readonly outputs: readonly { readonly name: string; readonly field: string }[];

  /** @throws Error if the kind has no circuit, or a setting or jack is named that it lacks. */
  constructor(definition: Definition, place: Place) {
    this.circuit = solo(definition, place);
    this.jacks = definition.jacks(valuesOf(definition, place.settings));
    this.inputs = this.jacks.flatMap((jack) =>
      jack.direction === 'in'
        ? [{ name: jack.name, rest: (place.facts?.[jack.name] ?? jack.facts).rest }]
        : [],
    );
    // What nobody listens to, a circuit may leave alone.
    this.outputs = this.jacks.filter(
      (jack): jack is OutputJack =>
        jack.direction === 'out' && (place.patched?.includes(jack.name) ?? true),
    );
  }

  /**
   * Runs the circuit on from where it is.
   * @param samples how many.
   * @param volts at input jacks by name; one without gets its resting volts.
   * @param block samples between calls of `settle`.
   * @returns the volts at every patched output jack by name, one a sample.
   */
  run(
    samples: number,
    volts: Readonly<Record<string, Volts>> = {},
    block = 128,
  ): Readonly<Record<string, Float64Array>> {
    for (const name of Object.keys(volts))
      if (!this.inputs.some((input) => input.name === name)) throw new Error(`no input ${name}`);
    const sources = this.inputs.map(({ name, rest }) => at(volts[name] ?? rest));
    const taken = this.outputs.map(({ name, field }) => ({
      name,
      read: reader(this.circuit, field),
      volts: new Float64Array(samples),
    }));
    for (let n = 0; n < samples; n++) {
      this.circuit.run(...sources.map((source) => source(n)));
      for (const output of taken) output.volts[n] = output.read();
      if ((n + 1) % block === 0) this.circuit.settle?.();
    }
    return Object.fromEntries(taken.map(({ name, volts: values }) => [name, values]));
  }
}

/** The volts of one output jack; throws if there is none of that name. */
export function jack(outputs: Readonly<Record<string, Float64Array>>, name: string): Float64Array {
  const values = outputs[name];
  if (values === undefined) throw new Error(`no output ${name}`);
  return values;
}

function at(volts: Volts): (sample: number) => number {
  if (typeof volts === 'number') return () => volts;
  if (typeof volts === 'function') return volts;
  return (sample) => {
    const value = volts[sample];
    if (value === undefined) throw new Error(`no volts given for sample ${sample}`);
    return value;
  };
}

/** Reads a field such as `out` or `volts[3]`, as the engine's loops do. */
function reader(circuit: Circuit, field: string): () => number {
  const match = /^([a-z][A-Za-z0-9]*)(?:\[(\d+)\])?$/.exec(field);
  if (match === null) throw new Error(`not a field: ${field}`);
  const [, name = '', element] = match;
  return () => {
    const property: unknown = Reflect.get(circuit, name);
    const value: unknown =
      element === undefined ? property : Reflect.get(Object(property), element);
    // Circuits may hold a switch as true or false.
    const number = typeof value === 'boolean' ? Number(value) : value;
    if (typeof number !== 'number') throw new Error(`${field} is not a number`);
    return number;
  };
}
