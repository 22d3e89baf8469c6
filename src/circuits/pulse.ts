/** Pulse: of a set length, out of any gate or trigger. Equation and source: src/modules/pulse.ts. */

import { Wire } from './core/wire';
import { PulseSource } from './dsp/pulse-source';
import { TriggerInput } from './dsp/trigger-input';

export class Pulse extends PulseSource {
  /** Samples, from 1 on. */
  private readonly length: i32;
  private readonly retriggers: bool;

  constructor(
    trigger: Wire,
    out: Wire,
    level: f64,
    input: TriggerInput,
    length: i32,
    retriggers: bool,
  ) {
    super(trigger, out, level, input);
    this.length = length;
    this.retriggers = retriggers;
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
}
