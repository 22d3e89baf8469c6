/** The base of circuits that give pulses of a set height for triggers: delay, pulse and burst. */

import { Circuit } from '../core/circuit';
import { Wire } from '../core/wire';
import { PulseTimer } from './pulse-timer';
import { TriggerInput } from './trigger-input';

export abstract class PulseSource extends Circuit {
  protected readonly triggers: StaticArray<f64>;
  protected readonly out: Wire;
  protected readonly trigger: TriggerInput;
  protected readonly timer: PulseTimer = new PulseTimer();
  /** V. */
  protected readonly level: f64;

  constructor(trigger: Wire, out: Wire, level: f64, input: TriggerInput) {
    super();
    this.triggers = trigger.volts;
    this.out = out;
    this.level = level;
    this.trigger = input;
    this.reads(trigger);
    this.drives(out);
  }

  rests(samples: i32): bool {
    return this.trigger.rests && this.timer.rests(samples);
  }

  skip(samples: i32): void {
    this.timer.skip(samples);
  }
}
