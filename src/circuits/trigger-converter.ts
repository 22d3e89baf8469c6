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

export function triggerConverter(
  scheduler: Scheduler,
  voltageIn: Wire,
  switchIn: Wire,
  switchOut: Wire | null,
  voltageOut: Wire | null,
  level: f64,
  gate: TriggerInput,
  contact: TriggerInput,
): void {
  scheduler.add(
    new TriggerConverter(voltageIn, switchIn, switchOut, voltageOut, level, gate, contact),
  );
}
