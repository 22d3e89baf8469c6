/** Slew limiter. Equations and source: src/modules/slew.ts. */

import { Circuit } from './core/circuit';
import { Wire } from './core/wire';
import { toRails } from './dsp/rails';

/** V. Smaller is inaudible, and far smaller numbers slow a processor down. */
const NOTHING: f64 = 1e-15;

export class Slew extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly out: Wire;
  private readonly isLinear: bool;
  private readonly rise: f64;
  private readonly fall: f64;
  /** The value of `rise` or `fall` that means no limit. */
  private readonly atOnce: f64;
  /** V of the input and of the output one sample ago, and the volts that the output goes on from. */
  private aim: f64 = 0;
  private given: f64 = 0;
  private reached: f64 = 0;

  /** @param rise V a sample if linear, otherwise the share of the distance; `fall` as well. */
  constructor(input: Wire, out: Wire, isLinear: bool, rise: f64, fall: f64) {
    super();
    this.input = input.volts;
    this.out = out;
    this.isLinear = isLinear;
    this.rise = rise;
    this.fall = fall;
    this.atOnce = isLinear ? Infinity : 1;
    this.reads(input);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const out = this.out.volts;
    const weight = this.out.gain;
    const isLinear = this.isLinear;
    const rise = this.rise;
    const fall = this.fall;
    const atOnce = this.atOnce;
    let held = this.aim;
    let reached = this.reached;
    for (let i = from; i < to; i++) {
      const aim = toRails(input[i]);
      reached = isLinear ? stepped(reached, held, rise, fall) : eased(reached, held, rise, fall);
      if ((aim > reached ? rise : fall) == atOnce) reached = aim;
      out[i] = reached * weight;
      held = aim;
    }
    this.aim = held;
    this.given = reached;
    this.reached = reached;
  }

  tick(i: i32): void {
    const aim = toRails(this.input[i]);
    const reached = this.isLinear
      ? stepped(this.reached, this.aim, this.rise, this.fall)
      : eased(this.reached, this.aim, this.rise, this.fall);
    this.reached = (aim > reached ? this.rise : this.fall) == this.atOnce ? aim : reached;
    this.given = this.reached;
    this.aim = aim;
    this.out.volts[i] = this.reached * this.out.gain;
  }

  rests(_samples: i32): bool {
    return this.given == this.aim && this.reached == this.aim;
  }

  settle(): void {
    if (!this.isLinear && Math.abs(this.reached) < NOTHING) this.reached = 0;
  }
}

/** V after a sample at a speed of its own, up or down. */
function stepped(from: f64, aim: f64, rise: f64, fall: f64): f64 {
  if (aim > from + rise) return from + rise;
  if (aim < from - fall) return from - fall;
  return aim;
}

/** V after a sample that covers a share of the distance. */
function eased(from: f64, aim: f64, rise: f64, fall: f64): f64 {
  const way = aim - from;
  return from + way * (way > 0 ? rise : fall);
}
