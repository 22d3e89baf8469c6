/** Comparator: which of two voltages is higher, as gates. Equation and source: src/modules/comparator.ts. */

import { Circuit } from './core/circuit';
import { gainOf, voltsOf, Wire } from './core/wire';

export class Comparator extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly reference: StaticArray<f64>;
  // An output that nobody listens to has no wire.
  private readonly above: Wire | null;
  private readonly below: Wire | null;
  private readonly threshold: f64;
  private readonly half: f64;
  private readonly level: f64;
  private isAbove: bool = false;

  constructor(
    input: Wire,
    reference: Wire,
    above: Wire | null,
    below: Wire | null,
    threshold: f64,
    hysteresis: f64,
    level: f64,
  ) {
    super();
    this.input = input.volts;
    this.reference = reference.volts;
    this.above = above;
    this.below = below;
    this.threshold = threshold;
    this.half = hysteresis / 2;
    this.level = level;
    this.reads(input);
    this.reads(reference);
    this.drives(above);
    this.drives(below);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const reference = this.reference;
    const above = voltsOf(this.above);
    const below = voltsOf(this.below);
    const aboveHigh = this.level * gainOf(this.above);
    const belowHigh = this.level * gainOf(this.below);
    const threshold = this.threshold;
    const half = this.half;
    let isAbove = this.isAbove;
    for (let i = from; i < to; i++) {
      const over = input[i] - reference[i] - threshold;
      // With no hysteresis both would hold at equality; the second half of each condition prevents switching.
      if (!isAbove) isAbove = over >= half && over > -half;
      else isAbove = !(over <= -half && over < half);
      above[i] = isAbove ? aboveHigh : 0;
      below[i] = isAbove ? 0 : belowHigh;
    }
    this.isAbove = isAbove;
  }

  rests(_samples: i32): bool {
    return true;
  }
}
