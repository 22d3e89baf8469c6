/** The base of every circuit: volts in on wires, volts out on wires, a stretch of a block at a time. */

import { Wire } from './wire';

export abstract class Circuit {
  readonly inputs: Array<Wire> = [];
  readonly outputs: Array<Wire> = [];
  /** Whether it is skipped now, its outputs holding one voltage. */
  held: bool = false;
  /** Whether it has run: before that its outputs and state mean nothing. */
  ran: bool = false;

  /** Works out the samples from `from` up to `to` of the block. Any split of a block gives the same. */
  abstract process(from: i32, to: i32): void;

  /**
   * Works out one sample, as `process(i, i + 1)` would: what a feedback cycle runs. A kind that is often
   * in one has its own version, without the variables that only pay off in a loop.
   */
  tick(i: i32): void {
    this.process(i, i + 1);
  }

  /**
   * Whether the next `samples` would leave its outputs and all it remembers as they are, its inputs
   * standing at their last volts. Asked between blocks only.
   */
  rests(_samples: i32): bool {
    return false;
  }

  /** As `rests`, where inputs move: whether they do not reach the outputs. */
  shuts(_samples: i32): bool {
    return false;
  }

  /** Skips `samples` for which it was not run. */
  skip(_samples: i32): void {}

  /** Called between blocks: flushes numbers too small to matter. */
  settle(): void {}

  protected reads(wire: Wire): StaticArray<f64> {
    this.inputs.push(wire);
    wire.watched = true;
    return wire.volts;
  }

  protected drives(wire: Wire | null): void {
    if (wire != null) this.outputs.push(wire);
  }
}
