/** Trigger converter: see src/modules/trigger-converter.ts. A switch's wire gets its net's two voltages. */
import { Circuit } from './core/circuit';
import { Scheduler } from './core/scheduler';
import { gainOf, voltsOf, Wire } from './core/wire';
import { TriggerInput } from './dsp/trigger-input';

export class TriggerConverter extends Circuit {
  private readonly voltageIn: StaticArray<f64>;
  private readonly switchIn: StaticArray<f64>;
  private readonly switchOut: Wire | null;
  private readonly voltageOut: Wire | null;
  private readonly level: f64;
  private readonly gate: TriggerInput;
  private readonly contact: TriggerInput;

  constructor(
    voltageIn: Wire,
    switchIn: Wire,
    switchOut: Wire | null,
    voltageOut: Wire | null,
    level: f64,
    gate: TriggerInput,
    contact: TriggerInput,
  ) {
    super();
    this.voltageIn = voltageIn.volts;
    this.switchIn = switchIn.volts;
    this.switchOut = switchOut;
    this.voltageOut = voltageOut;
    this.level = level;
    this.gate = gate;
    this.contact = contact;
    this.reads(voltageIn);
    this.reads(switchIn);
    this.drives(switchOut);
    this.drives(voltageOut);
  }

  process(from: i32, to: i32): void {
    const switchOut = voltsOf(this.switchOut);
    const voltageOut = voltsOf(this.voltageOut);
    const high = this.level * gainOf(this.voltageOut);
    for (let i = from; i < to; i++) {
      this.gate.run(this.voltageIn[i]);
      this.contact.run(this.switchIn[i]);
      switchOut[i] = this.gate.on ? 1 : 0;
      voltageOut[i] = this.contact.on ? high : 0;
    }
  }

  rests(_samples: i32): bool {
    return this.gate.rests && this.contact.rests;
  }
}

/** A converter of one way only. */
class OneWay extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly out: Wire | null;
  private readonly isSwitch: bool;
  /** V; a switch has none. */
  private readonly level: f64;
  private readonly trigger: TriggerInput;

  constructor(input: Wire, out: Wire | null, isSwitch: bool, level: f64, trigger: TriggerInput) {
    super();
    this.input = input.volts;
    this.out = out;
    this.isSwitch = isSwitch;
    this.level = level;
    this.trigger = trigger;
    this.reads(input);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const out = voltsOf(this.out);
    const high = this.isSwitch ? 1 : this.level * gainOf(this.out);
    for (let i = from; i < to; i++) {
      this.trigger.run(this.input[i]);
      out[i] = this.trigger.on ? high : 0;
    }
  }

  rests(_samples: i32): bool {
    return this.trigger.rests;
  }
}

export function voltageToSwitch(
  scheduler: Scheduler,
  voltageIn: Wire,
  switchOut: Wire | null,
  gate: TriggerInput,
): void {
  scheduler.add(new OneWay(voltageIn, switchOut, true, 0, gate));
}

export function switchToVoltage(
  scheduler: Scheduler,
  switchIn: Wire,
  voltageOut: Wire | null,
  level: f64,
  contact: TriggerInput,
): void {
  scheduler.add(new OneWay(switchIn, voltageOut, false, level, contact));
}
