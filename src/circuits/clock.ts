/** Clock: a free-running square oscillator. Equation: src/modules/clock.ts. */

import { Circuit } from './core/circuit';
import { Wire } from './core/wire';
import { TriggerInput } from './dsp/trigger-input';

export class Clock extends Circuit {
  private readonly resets: StaticArray<f64>;
  private readonly out: Wire;
  private readonly reset: TriggerInput;
  private readonly sampleRate: f64;
  private readonly rate: f64;
  private readonly duty: f64;
  private readonly high: f64;
  private readonly low: f64;

  /** Whole periods since the start or the last reset, the present one not among them. */
  private periods: f64 = 0;
  /** Samples since then, and how many of them it will be at the next edge. */
  private now: f64 = 0;
  private next: f64 = 0;
  private isHigh: bool = false;

  constructor(
    reset: Wire,
    out: Wire,
    rate: f64,
    duty: f64,
    high: f64,
    low: f64,
    sampleRate: f64,
    resetInput: TriggerInput,
  ) {
    super();
    this.resets = reset.volts;
    this.out = out;
    this.rate = rate;
    this.duty = duty;
    this.high = high;
    this.low = low;
    this.sampleRate = sampleRate;
    this.reset = resetInput;
    this.reads(reset);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const resets = this.resets;
    const out = this.out.volts;
    const high = this.high * this.out.gain;
    const low = this.low * this.out.gain;
    const reset = this.reset;
    let now = this.now;
    for (let i = from; i < to; i++) {
      reset.run(resets[i]);
      if (reset.rose) {
        this.periods = 0;
        this.next = 0;
        this.isHigh = false;
        now = 0;
      }
      if (now == this.next) this.turn(now);
      now += 1;
      out[i] = this.isHigh ? high : low;
    }
    this.now = now;
  }

  rests(samples: i32): bool {
    return this.reset.rests && this.now + f64(samples) <= this.next;
  }

  skip(samples: i32): void {
    this.now += f64(samples);
  }

  /** Switches the output at an edge and works out the next one. */
  private turn(now: f64): void {
    this.isHigh = !this.isHigh;
    if (this.isHigh) {
      const end = this.sampleOf(this.periods + 1) - 1;
      const fall = Math.max(this.sampleOf(this.periods + this.duty), now + 1);
      this.next = Math.min(fall, end);
    } else {
      this.periods += 1;
      this.next = this.sampleOf(this.periods);
    }
  }

  private sampleOf(periods: f64): f64 {
    return Math.round((periods * this.sampleRate) / this.rate);
  }
}
