/** What the host calls to make wires and nets and to let time go on; each kind has its own file. */

import { Late, Output, Sum } from './net';
import { Scheduler } from './scheduler';
import { BLOCK, Wire } from './wire';

/** Makes a scheduler; `passing` says whether it passes over what rests. */
export function scheduler(passing: bool): Scheduler {
  const made = new Scheduler();
  made.passing = passing;
  return made;
}

/** Renders the next block. */
export function next(scheduler: Scheduler): void {
  scheduler.next();
}

/** Says that the last `count` circuits form a feedback cycle. */
export function join(scheduler: Scheduler, count: i32): void {
  scheduler.join(count);
}

/** Makes the wire of a net whose volts are its one driver's times `gain`. */
export function wire(gain: f64): Wire {
  const made = new Wire();
  made.gain = gain;
  return made;
}

/** Makes a wire that nothing drives. */
export function constant(volts: f64): Wire {
  const made = new Wire();
  made.volts[BLOCK - 1] = volts;
  made.hold();
  return made;
}

/** A block of volts. */
export function voltsOf(wire: Wire): StaticArray<f64> {
  return wire.volts;
}

export function sum(scheduler: Scheduler, out: Wire): Sum {
  const made = new Sum(out);
  scheduler.add(made);
  return made;
}

export function sumInput(sum: Sum, wire: Wire): void {
  sum.plug(wire);
}

export function late(scheduler: Scheduler, net: Wire, lateWire: Wire): void {
  scheduler.add(new Late(net, lateWire));
}

export function output(scheduler: Scheduler, net: Wire, channel: Wire, gain: f64): Output {
  const made = new Output(net, channel, gain);
  scheduler.add(made);
  return made;
}
