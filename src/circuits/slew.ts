/** Slew limiter. Equations and source: src/modules/slew.ts. */

import { Circuit } from './core/circuit';
import { Scheduler } from './core/scheduler';
import { Wire } from './core/wire';
import { toRails } from './dsp/rails';

/** V. Smaller is nothing to hear, and numbers far smaller slow a processor down. */
const NOTHING: f64 = 1e-15;

export class ExponentialSlew extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly out: Wire;
  /** The part of the way to the input that is covered in one sample; 1: at once. */
  private readonly rise: f64;
  private readonly fall: f64;
  /** V of the input and of the output one sample ago, and what the output goes on from. */
  private aim: f64 = 0;
  private given: f64 = 0;
  private reached: f64 = 0;

  constructor(input: Wire, out: Wire, rise: f64, fall: f64) {
    super();
    this.input = input.volts;
    this.out = out;
    this.rise = rise;
    this.fall = fall;
    this.reads(input);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const out = this.out.volts;
    const weight = this.out.gain;
    const rise = this.rise;
    const fall = this.fall;
    let held = this.aim;
    let reached = this.reached;
    for (let i = from; i < to; i++) {
      const aim = toRails(input[i]);
      const way = held - reached;
      reached += way * (way > 0 ? rise : fall);
      if (aim > reached) {
        if (rise == 1) reached = aim;
      } else if (fall == 1) reached = aim;
      out[i] = reached * weight;
      held = aim;
    }
    this.aim = held;
    this.given = reached;
    this.reached = reached;
  }

  tick(i: i32): void {
    const aim = toRails(this.input[i]);
    const way = this.aim - this.reached;
    let reached = this.reached + way * (way > 0 ? this.rise : this.fall);
    if (aim > reached) {
      if (this.rise == 1) reached = aim;
    } else if (this.fall == 1) reached = aim;
    this.out.volts[i] = reached * this.out.gain;
    this.aim = aim;
    this.given = reached;
    this.reached = reached;
  }

  rests(_samples: i32): bool {
    return this.given == this.aim && this.reached == this.aim;
  }

  settle(): void {
    if (Math.abs(this.reached) < NOTHING) this.reached = 0;
  }
}

export class LinearSlew extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly out: Wire;
  /** V a sample at most; infinite: at once. */
  private readonly rise: f64;
  private readonly fall: f64;
  /** V of the input one sample ago, and of the output. */
  private aim: f64 = 0;
  private reached: f64 = 0;

  constructor(input: Wire, out: Wire, rise: f64, fall: f64) {
    super();
    this.input = input.volts;
    this.out = out;
    this.rise = rise;
    this.fall = fall;
    this.reads(input);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const out = this.out.volts;
    const weight = this.out.gain;
    const rise = this.rise;
    const fall = this.fall;
    let held = this.aim;
    let reached = this.reached;
    for (let i = from; i < to; i++) {
      const aim = toRails(input[i]);
      if (held > reached + rise) reached += rise;
      else if (held < reached - fall) reached -= fall;
      else reached = held;
      if (aim > reached) {
        if (rise == Infinity) reached = aim;
      } else if (fall == Infinity) reached = aim;
      out[i] = reached * weight;
      held = aim;
    }
    this.aim = held;
    this.reached = reached;
  }

  rests(_samples: i32): bool {
    return this.reached == this.aim;
  }
}

/** Makes one that covers these parts of its way in a sample, up and down. */
export function exponentialSlew(
  scheduler: Scheduler,
  input: Wire,
  out: Wire,
  rise: f64,
  fall: f64,
): void {
  scheduler.add(new ExponentialSlew(input, out, rise, fall));
}

/** Makes one that moves by these volts in a sample at most, up and down. */
export function linearSlew(
  scheduler: Scheduler,
  input: Wire,
  out: Wire,
  rise: f64,
  fall: f64,
): void {
  scheduler.add(new LinearSlew(input, out, rise, fall));
}
