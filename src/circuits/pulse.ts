/** Pulse: of a set length, out of any gate or trigger. Equation and source: src/modules/pulse.ts. */

import { Circuit } from './core/circuit';
import { Scheduler } from './core/scheduler';
import { Wire } from './core/wire';
import { PulseTimer } from './dsp/pulse-timer';
import { TriggerInput } from './dsp/trigger-input';

export class Pulse extends Circuit {
  private readonly triggers: StaticArray<f64>;
  private readonly out: Wire;
  private readonly trigger: TriggerInput;
  private readonly timer: PulseTimer = new PulseTimer();
  /** Samples, from 1 on. */
  private readonly length: i32;
  private readonly retriggers: bool;
  private readonly level: f64;

  constructor(
    trigger: Wire,
    out: Wire,
    length: i32,
    retriggers: bool,
    level: f64,
    input: TriggerInput,
  ) {
    super();
    this.triggers = trigger.volts;
    this.out = out;
    this.length = length;
    this.retriggers = retriggers;
    this.level = level;
    this.trigger = input;
    this.reads(trigger);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const triggers = this.triggers;
    const out = this.out.volts;
    const high = this.level * this.out.gain;
    const trigger = this.trigger;
    const timer = this.timer;
    for (let i = from; i < to; i++) {
      trigger.run(triggers[i]);
      timer.run();
      if (trigger.rose && (this.retriggers || !timer.on)) timer.start(this.length);
      out[i] = timer.on ? high : 0;
    }
  }

  rests(samples: i32): bool {
    return this.trigger.rests && this.timer.rests(samples);
  }

  skip(samples: i32): void {
    this.timer.skip(samples);
  }
}

export function pulse(
  scheduler: Scheduler,
  trigger: Wire,
  out: Wire,
  length: i32,
  retriggers: bool,
  level: f64,
  input: TriggerInput,
): void {
  scheduler.add(new Pulse(trigger, out, length, retriggers, level, input));
}
