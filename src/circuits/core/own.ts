/** A circuit that the host runs itself, in JavaScript: beside the others, on the same wires. */

import { Circuit } from './circuit';
import { Scheduler } from './scheduler';
import { Wire } from './wire';

// Functions that the host provides. `id` says which circuit; the samples are those from `from` up to `to`.
export declare function processOwn(id: i32, from: i32, to: i32): void;
export declare function ownRests(id: i32, samples: i32): bool;
export declare function skipOwn(id: i32, samples: i32): void;
export declare function settleOwn(id: i32): void;

export class Own extends Circuit {
  private readonly id: i32;

  constructor(id: i32) {
    super();
    this.id = id;
  }

  /** Adds an input or an output, to be called for each in turn. */
  plug(wire: Wire, isOutput: bool): void {
    if (isOutput) this.drives(wire);
    else this.reads(wire);
  }

  process(from: i32, to: i32): void {
    processOwn(this.id, from, to);
    const outputs = this.outputs;
    for (let k: i32 = 0; k < outputs.length; k++) {
      const volts = outputs[k].volts;
      const gain = outputs[k].gain;
      if (gain != 1) for (let i = from; i < to; i++) volts[i] *= gain;
    }
  }

  rests(samples: i32): bool {
    return ownRests(this.id, samples);
  }

  skip(samples: i32): void {
    skipOwn(this.id, samples);
  }

  settle(): void {
    settleOwn(this.id);
  }
}

export function own(scheduler: Scheduler, id: i32): Own {
  const made = new Own(id);
  scheduler.add(made);
  return made;
}

export function ownWire(own: Own, wire: Wire, isOutput: bool): void {
  own.plug(wire, isOutput);
}
