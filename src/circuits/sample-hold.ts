/** Sample and hold. Equation: src/modules/sample-hold.ts. */

import { Circuit } from './core/circuit';
import { Wire } from './core/wire';
import { toRails } from './dsp/rails';
import { TriggerInput } from './dsp/trigger-input';

export class SampleHold extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly triggerWire: Wire;
  private readonly out: Wire;
  private readonly trigger: TriggerInput;
  private readonly tracks: bool;
  /** V. */
  private kept: f64 = 0;

  constructor(input: Wire, trigger: Wire, out: Wire, tracks: bool, triggerInput: TriggerInput) {
    super();
    this.input = input.volts;
    this.triggerWire = trigger;
    this.out = out;
    this.tracks = tracks;
    this.trigger = triggerInput;
    this.reads(input);
    this.reads(trigger);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const triggers = this.triggerWire.volts;
    const out = this.out.volts;
    const weight = this.out.gain;
    const trigger = this.trigger;
    const tracks = this.tracks;
    let kept = this.kept;
    for (let i = from; i < to; i++) {
      trigger.run(triggers[i]);
      if (tracks ? trigger.on : trigger.rose) kept = toRails(input[i]);
      out[i] = kept * weight;
    }
    this.kept = kept;
  }

  rests(_samples: i32): bool {
    return this.trigger.rests;
  }

  shuts(_samples: i32): bool {
    if (this.triggerWire.moving || (this.tracks && this.trigger.on)) return false;
    return this.trigger.rests;
  }
}
