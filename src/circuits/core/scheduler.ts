/** Walks the circuits block by block. */

import { Circuit } from './circuit';
import { BLOCK } from './wire';

export class Scheduler {
  private readonly circuits: Array<Circuit> = [];
  /** Circuits up to here, from the one before, form a feedback cycle; -1: one by itself. */
  private readonly cycles: Array<i32> = [];
  passing: bool = true;

  add(circuit: Circuit): void {
    this.circuits.push(circuit);
    this.cycles.push(1);
    const inputs = circuit.inputs;
    for (let i: i32 = 0; i < inputs.length; i++) inputs[i].watched = true;
  }

  /** Says that the last `count` circuits form a cycle. */
  join(count: i32): void {
    this.cycles[this.circuits.length - count] = count;
  }

  next(): void {
    const circuits = this.circuits;
    const cycles = this.cycles;
    const count = circuits.length;
    for (let k: i32 = 0; k < count; ) {
      const length = cycles[k];
      if (length == 1) this.advance(circuits[k]);
      else this.advanceCycle(k, k + length);
      k += length;
    }
  }

  private advance(circuit: Circuit): void {
    if (circuit.ran && this.passing && this.mayRest(circuit)) {
      circuit.skip(BLOCK);
      if (circuit.held) return;
      circuit.held = true;
      const outputs = circuit.outputs;
      for (let i: i32 = 0; i < outputs.length; i++) outputs[i].hold();
      return;
    }
    circuit.held = false;
    circuit.ran = true;
    circuit.process(0, BLOCK);
    circuit.settle();
    this.look(circuit);
  }

  private advanceCycle(from: i32, to: i32): void {
    const circuits = this.circuits;
    for (let i: i32 = 0; i < BLOCK; i++)
      for (let k = from; k < to; k++) circuits[k].process(i, i + 1);
    for (let k = from; k < to; k++) circuits[k].settle();
  }

  private look(circuit: Circuit): void {
    const outputs = circuit.outputs;
    for (let i: i32 = 0; i < outputs.length; i++) if (outputs[i].watched) outputs[i].see();
  }

  private mayRest(circuit: Circuit): bool {
    const inputs = circuit.inputs;
    for (let i: i32 = 0; i < inputs.length; i++) if (inputs[i].moving) return circuit.shuts(BLOCK);
    return circuit.rests(BLOCK);
  }
}
