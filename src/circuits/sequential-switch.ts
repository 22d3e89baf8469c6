/** Sequential switch: one way after another is closed. See src/modules/sequential-switch.ts. */

import { Circuit } from './core/circuit';
import { gainOf, voltsOf, Wire } from './core/wire';
import { toRails } from './dsp/rails';
import { StepCounter } from './dsp/step-counter';
import { TriggerInput } from './dsp/trigger-input';

export class SequentialSwitch extends Circuit {
  private readonly clockWire: Wire;
  private readonly resetWire: Wire;
  private readonly clock: TriggerInput;
  private readonly reset: TriggerInput;
  private readonly counter: StepCounter;
  /** Whether each input is taken in turn, or always the same one; likewise the outputs. */
  private readonly froms: Array<StaticArray<f64>> = [];
  private readonly tos: Array<Wire | null> = [];
  /** The way that is closed. */
  private way: i32 = 0;

  constructor(
    clock: Wire,
    reset: Wire,
    ways: i32,
    atOnce: bool,
    clockInput: TriggerInput,
    resetInput: TriggerInput,
  ) {
    super();
    this.clockWire = clock;
    this.resetWire = reset;
    this.clock = clockInput;
    this.reset = resetInput;
    this.counter = new StepCounter(ways, atOnce);
    this.reads(clock);
    this.reads(reset);
  }

  from(wire: Wire): void {
    this.froms.push(this.reads(wire));
  }

  to(wire: Wire | null): void {
    this.tos.push(wire);
    this.drives(wire);
  }

  process(from: i32, to: i32): void {
    const clocks = this.clockWire.volts;
    const resets = this.resetWire.volts;
    const clock = this.clock;
    const reset = this.reset;
    const counter = this.counter;
    const froms = this.froms;
    const tos = this.tos;
    let way = this.way;
    for (let i = from; i < to; i++) {
      clock.run(clocks[i]);
      reset.run(resets[i]);
      if (clock.rose || reset.rose) {
        counter.take(clock.rose, reset.rose);
        way = i32(counter.step);
      }
      const volts = toRails(froms[froms.length == 1 ? 0 : way][i]);
      if (tos.length == 1) {
        voltsOf(tos[0])[i] = volts * gainOf(tos[0]);
        continue;
      }
      for (let k: i32 = 0; k < tos.length; k++)
        voltsOf(tos[k])[i] = k == way ? volts * gainOf(tos[k]) : 0;
    }
    this.way = way;
  }

  rests(_samples: i32): bool {
    return this.clock.rests && this.reset.rests;
  }
}

export function sequentialSwitchFrom(made: SequentialSwitch, wire: Wire): void {
  made.from(wire);
}

export function sequentialSwitchTo(made: SequentialSwitch, wire: Wire | null): void {
  made.to(wire);
}
