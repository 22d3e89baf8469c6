/** A module's circuit on a bench: volts at its input jacks by name, volts at its output jacks. */

import { BLOCK } from '../../src/engine/machine.ts';
import type { Definition, Handle, Jack } from '../../src/modules/definition.ts';
import { type Place, Stand } from './solo.ts';

/** Volts at an input: steady, one a sample, or worked out from the sample's index. */
export type Volts = number | ArrayLike<number> | ((sample: number) => number);

export class Bench {
  readonly jacks: readonly Jack[];
  private readonly stand: Stand;
  private readonly rests: readonly { readonly name: string; readonly rest: number }[];
  /** Samples of the present block that are done. */
  private at = 0;

  /**
   * @param passing whether the circuit is passed over where it rests, in {@link next}.
   * @throws Error if the kind has no circuit, or a setting or jack is named that it lacks.
   */
  constructor(definition: Definition, place: Place, passing = true) {
    this.stand = new Stand(definition, place, passing);
    this.jacks = this.stand.jacks;
    this.rests = this.jacks.flatMap((jack) =>
      jack.direction === 'in' ? [{ name: jack.name, rest: jack.facts.rest }] : [],
    );
  }

  /**
   * Runs the circuit on from where it is.
   * @param samples how many.
   * @param volts at input jacks by name; one without gets its resting volts.
   * @returns the volts at every patched output jack by name, one a sample.
   */
  run(
    samples: number,
    volts: Readonly<Record<string, Volts>> = {},
  ): Readonly<Record<string, Float64Array>> {
    const { machine, inputs, outputs } = this.stand;
    for (const name of Object.keys(volts))
      if (!this.rests.some((input) => input.name === name)) throw new Error(`no input ${name}`);
    const sources = this.rests.map(({ name, rest }) => filling(volts[name] ?? rest));
    const taken = outputs.map(({ name, wire }) => ({ name, wire, all: new Float64Array(samples) }));
    for (let n = 0; n < samples; ) {
      const from = this.at;
      const to = Math.min(BLOCK, from + samples - n);
      inputs.forEach((wire, k) => {
        (sources[k] as Filling)(machine.volts(wire).subarray(from, to), n);
      });
      machine.step(from, to);
      for (const { wire, all } of taken) all.set(machine.volts(wire).subarray(from, to), n);
      n += to - from;
      this.at = to % BLOCK;
    }
    return Object.fromEntries(taken.map(({ name, all }) => [name, all]));
  }

  /**
   * Renders a whole block, passing the circuit over if it rests.
   * @param volts steady, at input jacks by name.
   * @returns the volts at every patched output jack, and whether it was passed over.
   */
  next(volts: Readonly<Record<string, number>>): {
    readonly given: Readonly<Record<string, Float64Array>>;
    readonly passed: boolean;
  } {
    const { machine, inputs, outputs } = this.stand;
    this.rests.forEach(({ name, rest }, k) => {
      machine.volts(inputs[k] as Handle).fill(volts[name] ?? rest);
      machine.filled(inputs[k] as Handle);
    });
    machine.next();
    return {
      given: Object.fromEntries(
        outputs.map(({ name, wire }) => [name, machine.volts(wire).slice()]),
      ),
      passed: machine.passed > 0,
    };
  }
}

/** The volts of one output jack; throws if there is none of that name. */
export function jack(outputs: Readonly<Record<string, Float64Array>>, name: string): Float64Array {
  const values = outputs[name];
  if (values === undefined) throw new Error(`no output ${name}`);
  return values;
}

/** Fills a part of a block with the volts from a sample on. */
type Filling = (part: Float64Array, sample: number) => void;

function filling(volts: Volts): Filling {
  if (typeof volts === 'number') return (part) => part.fill(volts);
  if (typeof volts === 'function')
    return (part, sample) => {
      for (let i = 0; i < part.length; i++) part[i] = volts(sample + i);
    };
  return (part, sample) => {
    if (volts.length < sample + part.length)
      throw new Error(`no volts given for sample ${volts.length}`);
    for (let i = 0; i < part.length; i++) part[i] = volts[sample + i] as number;
  };
}
