/** Step sequencer: a clock walks it through rows of voltages and gates. See src/modules/step-sequencer.ts. */

import { Circuit } from './core/circuit';
import { Scheduler } from './core/scheduler';
import { gainOf, voltsOf, Wire } from './core/wire';
import { StepCounter } from './dsp/step-counter';
import { TriggerInput } from './dsp/trigger-input';

export class StepSequencer extends Circuit {
  private readonly clockWire: Wire;
  private readonly resetWire: Wire;
  private readonly shifts: StaticArray<f64>;
  // An output that nobody listens to has no wire.
  private readonly a: Wire | null;
  private readonly b: Wire | null;
  private readonly gate: Wire | null;
  private readonly first: Wire | null;
  private readonly clock: TriggerInput;
  private readonly reset: TriggerInput;
  private readonly level: f64;
  private readonly counter: StepCounter;
  /** By step: V, V, and whether it has a gate. */
  private readonly rowA: StaticArray<f64>;
  private readonly rowB: StaticArray<f64>;
  private readonly gates: StaticArray<bool>;

  /** The step that is played. */
  private played: i32 = 0;
  private gateOn: bool = false;
  private firstOn: bool = false;

  constructor(
    clock: Wire,
    reset: Wire,
    shift: Wire,
    a: Wire | null,
    b: Wire | null,
    gate: Wire | null,
    first: Wire | null,
    steps: i32,
    atOnce: bool,
    level: f64,
    clockInput: TriggerInput,
    resetInput: TriggerInput,
  ) {
    super();
    this.clockWire = clock;
    this.resetWire = reset;
    this.shifts = shift.volts;
    this.a = a;
    this.b = b;
    this.gate = gate;
    this.first = first;
    this.level = level;
    this.clock = clockInput;
    this.reset = resetInput;
    this.counter = new StepCounter(steps, atOnce);
    this.rowA = new StaticArray<f64>(steps);
    this.rowB = new StaticArray<f64>(steps);
    this.gates = new StaticArray<bool>(steps);
    this.reads(clock);
    this.reads(reset);
    this.reads(shift);
    this.drives(a);
    this.drives(b);
    this.drives(gate);
    this.drives(first);
  }

  /** Tells of a step. */
  set(step: i32, a: f64, b: f64, gate: bool): void {
    this.rowA[step] = a;
    this.rowB[step] = b;
    this.gates[step] = gate;
  }

  process(from: i32, to: i32): void {
    const clocks = this.clockWire.volts;
    const resets = this.resetWire.volts;
    const shifts = this.shifts;
    const a = voltsOf(this.a);
    const b = voltsOf(this.b);
    const gate = voltsOf(this.gate);
    const first = voltsOf(this.first);
    const aGain = gainOf(this.a);
    const bGain = gainOf(this.b);
    const gateHigh = this.level * gainOf(this.gate);
    const firstHigh = this.level * gainOf(this.first);
    const clock = this.clock;
    const reset = this.reset;
    for (let i = from; i < to; i++) {
      clock.run(clocks[i]);
      reset.run(resets[i]);
      if (clock.fell) {
        this.gateOn = false;
        this.firstOn = false;
      }
      if (clock.rose || reset.rose) this.move(shifts[i]);
      a[i] = this.rowA[this.played] * aGain;
      b[i] = this.rowB[this.played] * bGain;
      gate[i] = this.gateOn ? gateHigh : 0;
      first[i] = this.firstOn ? firstHigh : 0;
    }
  }

  rests(_samples: i32): bool {
    return this.clock.rests && this.reset.rests;
  }

  /** The shift counts only when a clock or a reset comes. */
  shuts(samples: i32): bool {
    return !this.clockWire.moving && !this.resetWire.moving && this.rests(samples);
  }

  private move(shift: f64): void {
    if (!this.counter.take(this.clock.rose, this.reset.rose)) return;
    const position = this.counter.step;
    const steps = this.gates.length;
    const step = (position + i32(Math.round(shift))) % steps;
    this.played = step < 0 ? step + steps : step;
    this.gateOn = this.clock.on && this.gates[this.played];
    this.firstOn = this.clock.on && position == 0;
  }
}

export function stepSequencer(
  scheduler: Scheduler,
  clock: Wire,
  reset: Wire,
  shift: Wire,
  a: Wire | null,
  b: Wire | null,
  gate: Wire | null,
  first: Wire | null,
  steps: i32,
  atOnce: bool,
  level: f64,
  clockInput: TriggerInput,
  resetInput: TriggerInput,
): StepSequencer {
  const made = new StepSequencer(
    clock,
    reset,
    shift,
    a,
    b,
    gate,
    first,
    steps,
    atOnce,
    level,
    clockInput,
    resetInput,
  );
  scheduler.add(made);
  return made;
}

export function stepSequencerStep(
  sequencer: StepSequencer,
  step: i32,
  a: f64,
  b: f64,
  gate: bool,
): void {
  sequencer.set(step, a, b, gate);
}
