/**
 * The stage between a circuit and its jack, so that the jack gives what was measured there: its levels, its
 * rise and the width of its pulses. Equation and source: OutputStage in src/modules/facts.ts.
 */

import { Circuit } from './core/circuit';
import { Wire } from './core/wire';

/** V by which a level counts as arrived: far under the resolution of 24 bits of 10 V. */
const ARRIVED: f64 = 1e-9;

export class OutputStage extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly out: Wire;
  private readonly gain: f64;
  private readonly offset: f64;
  /** V of the circuit over which a pulse is on. */
  private readonly middle: f64;
  private readonly low: f64;
  private readonly high: f64;
  /** Samples that a pulse lasts; 0 for as long as the circuit makes it. */
  private readonly length: i32;
  /** Share of the distance that a sample covers; 1 for all of it. */
  private readonly share: f64;
  private left: i32 = 0;
  private wasOn: bool = false;
  private level: f64;
  private target: f64;

  constructor(
    input: Wire,
    out: Wire,
    fromLow: f64,
    fromHigh: f64,
    low: f64,
    high: f64,
    length: i32,
    share: f64,
  ) {
    super();
    this.input = input.volts;
    this.out = out;
    this.gain = fromHigh == fromLow ? 1 : (high - low) / (fromHigh - fromLow);
    this.offset = low - this.gain * fromLow;
    this.middle = (fromLow + fromHigh) / 2;
    this.low = low;
    this.high = high;
    this.length = length;
    this.share = share;
    this.level = low;
    this.target = low;
    this.reads(input);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const out = this.out.volts;
    const weight = this.out.gain;
    const share = this.share;
    let left = this.left;
    let wasOn = this.wasOn;
    let level = this.level;
    let target = this.target;
    for (let i = from; i < to; i++) {
      if (this.length > 0) {
        const isOn = input[i] > this.middle;
        if (isOn && !wasOn) left = this.length;
        wasOn = isOn;
        target = left > 0 ? this.high : this.low;
        if (left > 0) left--;
      } else {
        target = this.gain * input[i] + this.offset;
      }
      level += share * (target - level);
      if (share == 1 || Math.abs(target - level) < ARRIVED) level = target;
      out[i] = level * weight;
    }
    this.left = left;
    this.wasOn = wasOn;
    this.level = level;
    this.target = target;
  }

  rests(_samples: i32): bool {
    return (
      this.left == 0 && this.level == this.target && (this.length == 0 || this.target == this.low)
    );
  }
}
