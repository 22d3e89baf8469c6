/**
 * Walks the circuits in running order, block by block. A circuit at rest is skipped by itself: its wires
 * stay as they were, which is what running it would have left, bit for bit.
 */

import { Circuit } from './circuit';
import { BLOCK, Wire } from './wire';

export class Scheduler {
  /** Whether circuits at rest are skipped. */
  passing: bool = true;
  /** Whether every sample so far is a finite number. */
  isFinite: bool = true;
  /** Circuits skipped in the latest block. */
  passed: i32 = 0;
  /** Nets that are read a sample late. */
  readonly lates: Array<Wire> = [];
  private readonly circuits: Array<Circuit> = [];
  /** For each circuit how many, from it on, run together sample by sample: more than one is a cycle. */
  private readonly cycles: Array<i32> = [];

  add(circuit: Circuit): void {
    this.circuits.push(circuit);
    this.cycles.push(1);
  }

  /** Says that the last `count` circuits form a feedback cycle. */
  join(count: i32): void {
    this.cycles[this.circuits.length - count] = count;
  }

  next(): void {
    const circuits = this.circuits;
    const cycles = this.cycles;
    const count = circuits.length;
    this.passed = 0;
    const lates = this.lates;
    for (let k: i32 = 0; k < lates.length; k++) lates[k].carry();
    for (let k: i32 = 0; k < count; ) {
      const length = cycles[k];
      if (length == 1) this.advance(circuits[k]);
      else this.advanceCycle(k, k + length);
      k += length;
    }
  }

  /** Works out part of a block, circuit by circuit, with nothing skipped: for a patch without cycles. */
  step(from: i32, to: i32): void {
    const circuits = this.circuits;
    for (let k: i32 = 0; k < circuits.length; k++)
      if (to == from + 1) circuits[k].tick(from);
      else circuits[k].process(from, to);
    if (to == BLOCK) for (let k: i32 = 0; k < circuits.length; k++) circuits[k].settle();
  }

  private advance(circuit: Circuit): void {
    // Before it has run, its wires do not hold its output.
    if (circuit.ran && this.passing && this.mayRest(circuit)) {
      this.pass(circuit);
      return;
    }
    circuit.process(0, BLOCK);
    circuit.settle();
    circuit.held = false;
    circuit.ran = true;
    const outputs = circuit.outputs;
    for (let i: i32 = 0; i < outputs.length; i++) if (outputs[i].watched) outputs[i].see();
  }

  private pass(circuit: Circuit): void {
    circuit.skip(BLOCK);
    this.passed += 1;
    if (circuit.held) return;
    circuit.held = true;
    const outputs = circuit.outputs;
    for (let i: i32 = 0; i < outputs.length; i++) outputs[i].hold();
  }

  /** A cycle is fed by itself a sample late, so it may move without input: it always runs. */
  private advanceCycle(from: i32, to: i32): void {
    const circuits = this.circuits;
    for (let i: i32 = 0; i < BLOCK; i++) for (let k = from; k < to; k++) circuits[k].tick(i);
    for (let k = from; k < to; k++) circuits[k].settle();
  }

  private mayRest(circuit: Circuit): bool {
    const inputs = circuit.inputs;
    for (let i: i32 = 0; i < inputs.length; i++) if (inputs[i].moving) return circuit.shuts(BLOCK);
    return circuit.rests(BLOCK);
  }
}
