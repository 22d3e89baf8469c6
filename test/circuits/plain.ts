/**
 * The circuits run as plain JavaScript, from the same sources as the WebAssembly: what a test or a
 * debugger steps through.
 */

import './shim';
import type { Circuit } from '../../src/circuits/core/circuit';
import type { Scheduler } from '../../src/circuits/core/scheduler';
import * as circuits from '../../src/circuits/index';
import type { Handle } from '../../src/modules/definition.ts';
import type { Host } from './bench.ts';

const functions = circuits as unknown as Readonly<
  Record<string, (...values: readonly unknown[]) => Handle>
>;
const classes = circuits as unknown as Readonly<
  Record<string, new (...values: readonly unknown[]) => Circuit>
>;

/** A handle is the circuit or the wire itself. */
export class Plain implements Host {
  readonly none = null as unknown as Handle;
  private readonly scheduler: Handle;

  constructor(passing = false) {
    this.scheduler = this.call('scheduler', passing);
  }

  make(name: string, ...values: readonly unknown[]): Handle {
    const { [`${name.charAt(0).toUpperCase()}${name.slice(1)}`]: Made } = classes;
    if (Made === undefined) return this.call(name, this.scheduler, ...values);
    const made = new Made(...values);
    (this.scheduler as unknown as Scheduler).add(made);
    return made as unknown as Handle;
  }

  call(name: string, ...values: readonly unknown[]): Handle {
    const { [name]: call } = functions;
    if (call === undefined) throw new Error(`src/circuits has no ${name}`);
    return call(...values);
  }

  wire(gain = 1): Handle {
    return this.call('wire', gain);
  }

  constant(volts: number): Handle {
    return this.call('constant', volts);
  }

  volts(wire: Handle): Float64Array {
    return this.call('voltsOf', wire) as unknown as Float64Array;
  }

  samples(list: Float64Array): Handle {
    return list.slice() as unknown as Handle;
  }

  filled(wire: Handle): void {
    this.call('filled', wire);
  }

  step(from: number, to: number): void {
    this.call('step', this.scheduler, from, to);
  }

  next(): void {
    this.call('next', this.scheduler);
  }
}
