/** Delay: a pulse a set time after each trigger. See src/modules/delay.ts. */

import { Wire } from './core/wire';
import { PulseSource } from './dsp/pulse-source';
import { TriggerInput } from './dsp/trigger-input';

/** Triggers that may be on their way at once; a power of two. */
const MOST_IN_FLIGHT: i32 = 256;

export class Delay extends PulseSource {
  /** Samples, both. */
  private readonly time: f64;
  private readonly length: i32;

  /** Samples since the start. */
  private now: f64 = 0;
  /** When each pulse under way is due, the oldest first. All wait the same time, so none overtakes. */
  private readonly due: StaticArray<f64> = new StaticArray<f64>(MOST_IN_FLIGHT);
  private oldest: i32 = 0;
  private count: i32 = 0;
  private next: f64 = Infinity;

  constructor(trigger: Wire, out: Wire, level: f64, input: TriggerInput, time: f64, length: i32) {
    super(trigger, out, level, input);
    this.time = time;
    this.length = length;
  }

  process(from: i32, to: i32): void {
    const triggers = this.triggers;
    const out = this.out.volts;
    const high = this.level * this.out.gain;
    const trigger = this.trigger;
    const timer = this.timer;
    let now = this.now;
    for (let i = from; i < to; i++) {
      trigger.run(triggers[i]);
      timer.run();
      if (trigger.rose) this.send(now);
      if (now == this.next) this.arrive();
      now += 1;
      out[i] = timer.on ? high : 0;
    }
    this.now = now;
  }

  rests(samples: i32): bool {
    return this.now + f64(samples) <= this.next && super.rests(samples);
  }

  skip(samples: i32): void {
    this.now += f64(samples);
    super.skip(samples);
  }

  private send(now: f64): void {
    if (this.count == MOST_IN_FLIGHT) return;
    this.due[(this.oldest + this.count) & (MOST_IN_FLIGHT - 1)] = now + this.time;
    this.count += 1;
    this.next = this.due[this.oldest];
  }

  private arrive(): void {
    this.timer.start(this.length);
    this.oldest = (this.oldest + 1) & (MOST_IN_FLIGHT - 1);
    this.count -= 1;
    this.next = this.count > 0 ? this.due[this.oldest] : Infinity;
  }
}
