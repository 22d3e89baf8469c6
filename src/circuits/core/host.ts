/** Functions that the host calls to make wires and nets and to run the circuits; each kind has its own file. */

import { Output, Sum, Switched } from './net';
import { Scheduler } from './scheduler';
import { BLOCK, Wire } from './wire';

/** Makes a scheduler. @param passing whether it skips circuits at rest. */
export function scheduler(passing: bool): Scheduler {
  const made = new Scheduler();
  made.passing = passing;
  return made;
}

/** Renders the next block. @returns whether every sample so far is a finite number. */
export function next(scheduler: Scheduler): bool {
  scheduler.next();
  return scheduler.isFinite;
}

/** Works out the samples from `from` up to `to` of a block: a step for a bench or a debugger. */
export function step(scheduler: Scheduler, from: i32, to: i32): void {
  scheduler.step(from, to);
}

/** Circuits skipped in the latest block. */
export function passed(scheduler: Scheduler): i32 {
  return scheduler.passed;
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

/** Makes a list for the host to put samples into. */
export function samples(length: i32): StaticArray<f64> {
  return new StaticArray<f64>(length);
}

/** Says that the host has filled a wire with a block of volts. */
export function filled(wire: Wire): void {
  if (wire.watched) wire.see();
}

/** Lets a wire hold its last volts, until it is filled again. */
export function hold(wire: Wire): void {
  wire.hold();
}

export function sum(scheduler: Scheduler, out: Wire, offset: f64): Sum {
  const made = new Sum(out, offset);
  scheduler.add(made);
  return made;
}

export function sumInput(sum: Sum, driver: Wire): void {
  sum.plug(driver);
}

export function switched(
  scheduler: Scheduler,
  out: Wire,
  conductance: f64,
  current: f64,
): Switched {
  const made = new Switched(out, conductance, current);
  scheduler.add(made);
  return made;
}

export function switchedInput(
  switched: Switched,
  driver: Wire,
  conductance: f64,
  saturation: f64,
  isSwitch: bool,
): void {
  switched.plug(driver, conductance, saturation, isSwitch);
}

/**
 * Makes the wire of a net as it was a sample ago.
 * @param rest V of the net before anything has run.
 */
export function late(scheduler: Scheduler, net: Wire, rest: f64): Wire {
  net.volts[BLOCK - 1] = rest;
  scheduler.lates.push(net);
  return net.late();
}

export function output(scheduler: Scheduler, net: Wire, channel: Wire, gain: f64): void {
  scheduler.add(new Output(scheduler, net, channel, gain));
}
