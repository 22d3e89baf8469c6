/** Step sequencer: a clock walks it through rows of voltages and gates. See src/modules/step-sequencer.ts. */

import { Circuit } from './core/circuit';
import { gainOf, voltsOf, Wire } from './core/wire';
import { StepCounter } from './dsp/step-counter';
import { TriggerInput } from './dsp/trigger-input';

/** A row of volts and the output that it has. */
class Row {
  readonly out: Wire | null;
  readonly values: StaticArray<f64>;

  constructor(out: Wire | null, length: i32) {
    this.out = out;
    this.values = new StaticArray<f64>(length);
  }

  /** Fills its output with the step that is played. */
  fill(played: f64, from: i32, to: i32): void {
    const out = this.out;
    if (out == null) return;
    const volts = out.volts;
    const value = this.values[i32(played % f64(this.values.length))] * out.gain;
    for (let i = from; i < to; i++) volts[i] = value;
  }
}

export class StepSequencer extends Circuit {
  private readonly clockWire: Wire;
  private readonly resetWire: Wire;
  private readonly offsets: StaticArray<f64>;
  // An output that nobody listens to has no wire.
  private readonly gate: Wire | null;
  private readonly first: Wire | null;
  private readonly clock: TriggerInput;
  private readonly reset: TriggerInput;
  private readonly level: f64;
  /** Whole numbers that may be larger than an i32. */
  private readonly cycle: f64;
  private readonly counter: StepCounter;
  private readonly rows: Array<Row> = [];
  private readonly gates: StaticArray<bool>;

  /** The step of the cycle that is played. */
  private played: f64 = 0;
  private gateOn: bool = false;
  private firstOn: bool = false;

  constructor(
    clock: Wire,
    reset: Wire,
    offset: Wire,
    gate: Wire | null,
    first: Wire | null,
    cycle: f64,
    gates: i32,
    atOnce: bool,
    level: f64,
    clockInput: TriggerInput,
    resetInput: TriggerInput,
  ) {
    super();
    this.clockWire = clock;
    this.resetWire = reset;
    this.offsets = offset.volts;
    this.gate = gate;
    this.first = first;
    this.level = level;
    this.clock = clockInput;
    this.reset = resetInput;
    this.cycle = cycle;
    this.counter = new StepCounter(cycle, atOnce);
    this.gates = new StaticArray<bool>(gates);
    this.reads(clock);
    this.reads(reset);
    this.reads(offset);
    this.drives(gate);
    this.drives(first);
  }

  /** Adds a row; its values are added one by one. */
  add(out: Wire | null, length: i32): void {
    this.rows.push(new Row(out, length));
    this.drives(out);
  }

  /** Adds a step to the row that was added last. */
  set(step: i32, value: f64): void {
    this.rows[this.rows.length - 1].values[step] = value;
  }

  /** Sets whether a step gives a gate. */
  setGate(step: i32, isOn: bool): void {
    this.gates[step] = isOn;
  }

  process(from: i32, to: i32): void {
    const clocks = this.clockWire.volts;
    const resets = this.resetWire.volts;
    const offsets = this.offsets;
    const gate = voltsOf(this.gate);
    const first = voltsOf(this.first);
    const gateHigh = this.level * gainOf(this.gate);
    const firstHigh = this.level * gainOf(this.first);
    const clock = this.clock;
    const reset = this.reset;
    /** The sample up to which the rows are filled. */
    let filled = from;
    for (let i = from; i < to; i++) {
      clock.run(clocks[i]);
      reset.run(resets[i]);
      if (clock.fell) {
        this.gateOn = false;
        this.firstOn = false;
      }
      if (clock.rose || reset.rose) {
        this.fillRows(filled, i);
        filled = i;
        this.move(offsets[i]);
      }
      gate[i] = this.gateOn ? gateHigh : 0;
      first[i] = this.firstOn ? firstHigh : 0;
    }
    this.fillRows(filled, to);
  }

  rests(_samples: i32): bool {
    return this.clock.rests && this.reset.rests;
  }

  /** The offset counts only when a clock or a reset comes. */
  shuts(samples: i32): bool {
    return !this.clockWire.moving && !this.resetWire.moving && this.rests(samples);
  }

  private fillRows(from: i32, to: i32): void {
    const rows = this.rows;
    for (let k = 0; k < rows.length; k++) rows[k].fill(this.played, from, to);
  }

  private move(offset: f64): void {
    if (!this.counter.take(this.clock.rose, this.reset.rose)) return;
    const position = this.counter.step;
    const step = (position + Math.round(offset)) % this.cycle;
    this.played = step < 0 ? step + this.cycle : step;
    const isOn = this.gates[i32(this.played % f64(this.gates.length))];
    this.gateOn = this.clock.on && isOn;
    this.firstOn = this.clock.on && position == 0;
  }
}

export function stepSequencerRow(sequencer: StepSequencer, out: Wire | null, length: i32): void {
  sequencer.add(out, length);
}

export function stepSequencerValue(sequencer: StepSequencer, step: i32, value: f64): void {
  sequencer.set(step, value);
}

export function stepSequencerGate(sequencer: StepSequencer, step: i32, isOn: bool): void {
  sequencer.setGate(step, isOn);
}
