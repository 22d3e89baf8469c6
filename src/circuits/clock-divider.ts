/** Clock divider and multiplier. See src/modules/clock-divider.ts. */

import { Circuit } from './core/circuit';
import { gainOf, voltsOf, Wire } from './core/wire';
import { TriggerInput } from './dsp/trigger-input';

export class ClockDivider extends Circuit {
  private readonly clocks: StaticArray<f64>;
  private readonly resets: StaticArray<f64>;
  // An output that nobody listens to has no wire.
  private readonly dividedWire: Wire | null;
  private readonly by2Wire: Wire | null;
  private readonly by3Wire: Wire | null;
  private readonly by4Wire: Wire | null;
  private readonly by8Wire: Wire | null;
  private readonly multipliedWire: Wire | null;
  private readonly clock: TriggerInput;
  private readonly reset: TriggerInput;
  private readonly divide: i32;
  private readonly multiply: i32;
  private readonly level: f64;

  private divided: bool = false;
  private by2: bool = false;
  private by3: bool = false;
  private by4: bool = false;
  private by8: bool = false;
  private multiplied: bool = false;
  /** Clocks since the start or the last reset. */
  private counted: i32 = 0;
  /** Samples since the last clock; infinite before the first. */
  private since: f64 = Infinity;
  /** Samples between the last two clocks; infinite before the second. */
  private period: f64 = Infinity;
  /** Half pulses that `multiplied` has given since the last clock, and when the next is due. */
  private halves: i32 = 0;
  private next: f64 = Infinity;

  constructor(
    clock: Wire,
    reset: Wire,
    divided: Wire | null,
    by2: Wire | null,
    by3: Wire | null,
    by4: Wire | null,
    by8: Wire | null,
    multiplied: Wire | null,
    divide: i32,
    multiply: i32,
    level: f64,
    clockInput: TriggerInput,
    resetInput: TriggerInput,
  ) {
    super();
    this.clocks = clock.volts;
    this.resets = reset.volts;
    this.dividedWire = divided;
    this.by2Wire = by2;
    this.by3Wire = by3;
    this.by4Wire = by4;
    this.by8Wire = by8;
    this.multipliedWire = multiplied;
    this.divide = divide;
    this.multiply = multiply;
    this.level = level;
    this.clock = clockInput;
    this.reset = resetInput;
    this.reads(clock);
    this.reads(reset);
    this.drives(divided);
    this.drives(by2);
    this.drives(by3);
    this.drives(by4);
    this.drives(by8);
    this.drives(multiplied);
  }

  process(from: i32, to: i32): void {
    const clocks = this.clocks;
    const resets = this.resets;
    const divided = voltsOf(this.dividedWire);
    const by2 = voltsOf(this.by2Wire);
    const by3 = voltsOf(this.by3Wire);
    const by4 = voltsOf(this.by4Wire);
    const by8 = voltsOf(this.by8Wire);
    const multiplied = voltsOf(this.multipliedWire);
    const dividedHigh = this.level * gainOf(this.dividedWire);
    const by2High = this.level * gainOf(this.by2Wire);
    const by3High = this.level * gainOf(this.by3Wire);
    const by4High = this.level * gainOf(this.by4Wire);
    const by8High = this.level * gainOf(this.by8Wire);
    const multipliedHigh = this.level * gainOf(this.multipliedWire);
    const clock = this.clock;
    const reset = this.reset;
    let since = this.since;
    for (let i = from; i < to; i++) {
      clock.run(clocks[i]);
      reset.run(resets[i]);
      since += 1;
      if (reset.rose) this.counted = 0;
      if (clock.rose) {
        this.count(since);
        since = 0;
      } else if (clock.fell) this.lower();
      // Before the first clock both are infinite.
      if (since == this.next && since < Infinity) this.turn(since);
      divided[i] = this.divided ? dividedHigh : 0;
      by2[i] = this.by2 ? by2High : 0;
      by3[i] = this.by3 ? by3High : 0;
      by4[i] = this.by4 ? by4High : 0;
      by8[i] = this.by8 ? by8High : 0;
      multiplied[i] = this.multiplied ? multipliedHigh : 0;
    }
    this.since = since;
  }

  rests(samples: i32): bool {
    const waits = this.next == Infinity || this.since + f64(samples) < this.next;
    return waits && this.clock.rests && this.reset.rests;
  }

  skip(samples: i32): void {
    this.since += f64(samples);
  }

  /** Takes a clock so many samples after the one before. */
  private count(since: f64): void {
    const counted = this.counted;
    this.divided = counted % this.divide == 0;
    this.by2 = counted % 2 == 0;
    this.by3 = counted % 3 == 0;
    this.by4 = counted % 4 == 0;
    this.by8 = counted % 8 == 0;
    this.counted = counted + 1;
    this.period = since;
    this.halves = 0;
    this.next = since < Infinity ? 0 : Infinity;
  }

  private lower(): void {
    this.divided = false;
    this.by2 = false;
    this.by3 = false;
    this.by4 = false;
    this.by8 = false;
  }

  /** Switches `multiplied` at one of its edges and works out the next. */
  private turn(since: f64): void {
    this.multiplied = this.halves % 2 == 0;
    this.halves += 1;
    const edges = 2 * this.multiply;
    const due = Math.round((f64(this.halves) * this.period) / f64(edges));
    // Two edges on one sample would be no pulse: the second waits a sample.
    this.next = this.halves == edges ? Infinity : Math.max(due, since + 1);
  }
}
