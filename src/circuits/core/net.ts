/**
 * Nets whose volts are not just those of one driver: Millman's theorem, worked out beforehand as far as it
 * stays the same; see src/electrical/node-law.ts.
 */

import { Circuit } from './circuit';
import { Scheduler } from './scheduler';
import { Wire } from './wire';

/** A net of several voltage outputs, or with a pull-up: volts by their weights, in order, and a steady part. */
export class Sum extends Circuit {
  private readonly out: Wire;
  /** V that the pull-ups give. */
  private readonly offset: f64;

  constructor(out: Wire, offset: f64) {
    super();
    this.out = out;
    this.offset = offset;
    this.drives(out);
  }

  /** Adds a driver, to be called for each in turn; its wire has its weight as gain. */
  plug(driver: Wire): void {
    this.reads(driver);
  }

  process(from: i32, to: i32): void {
    const out = this.out.volts;
    const inputs = this.inputs;
    const offset = this.offset;
    for (let k: i32 = 0; k < inputs.length; k++) {
      const volts = inputs[k].volts;
      if (k == 0) for (let i = from; i < to; i++) out[i] = volts[i];
      else for (let i = from; i < to; i++) out[i] += volts[i];
    }
    if (offset != 0) for (let i = from; i < to; i++) out[i] += offset;
  }

  tick(i: i32): void {
    const inputs = this.inputs;
    let volts = inputs[0].volts[i];
    for (let k: i32 = 1; k < inputs.length; k++) volts += inputs[k].volts[i];
    this.out.volts[i] = this.offset != 0 ? volts + this.offset : volts;
  }

  rests(_samples: i32): bool {
    return true;
  }
}

/** A net with switches: which of them are closed decides the weights of all the others. */
export class Switched extends Circuit {
  private readonly out: Wire;
  /** Siemens and ampere that are always there: of the inputs and the voltage outputs. */
  private readonly conductance: f64;
  private readonly current: f64;
  /** One a driver: siemens, V of a closed switch, whether it is a switch. */
  private readonly conductances: Array<f64> = [];
  private readonly saturations: Array<f64> = [];
  private readonly switches: Array<bool> = [];
  /** ... which of them are closed, and the weight of each while that lasts. */
  private readonly closed: Array<bool> = [];
  private readonly weights: Array<f64> = [];
  private steady: f64 = 0;

  constructor(out: Wire, conductance: f64, current: f64) {
    super();
    this.out = out;
    this.conductance = conductance;
    this.current = current;
    this.drives(out);
  }

  /** Adds a driver, to be called for each in turn: the wire of a switch holds 1 where it is closed, otherwise 0. */
  plug(driver: Wire, conductance: f64, saturation: f64, isSwitch: bool): void {
    this.reads(driver);
    this.conductances.push(conductance);
    this.saturations.push(saturation);
    this.switches.push(isSwitch);
    this.closed.push(false);
    this.weights.push(0);
    this.weigh();
  }

  process(from: i32, to: i32): void {
    const out = this.out.volts;
    const inputs = this.inputs;
    const count = inputs.length;
    for (let i = from; i < to; i++) {
      let changed = false;
      for (let k: i32 = 0; k < count; k++) {
        if (!this.switches[k]) continue;
        const closed = inputs[k].volts[i] != 0;
        if (closed == this.closed[k]) continue;
        this.closed[k] = closed;
        changed = true;
      }
      if (changed) this.weigh();
      let volts = this.steady;
      for (let k: i32 = 0; k < count; k++)
        if (!this.switches[k]) volts += inputs[k].volts[i] * this.weights[k];
      out[i] = volts;
    }
  }

  rests(_samples: i32): bool {
    return true;
  }

  /** Works out the weights for the switches that are closed. */
  private weigh(): void {
    let conductance = this.conductance;
    let current = this.current;
    for (let k: i32 = 0; k < this.closed.length; k++) {
      if (!this.closed[k]) continue;
      conductance += this.conductances[k];
      current += this.conductances[k] * this.saturations[k];
    }
    // A node that nothing drives has no voltage of its own: 0 V.
    this.steady = conductance == 0 ? 0 : current / conductance;
    for (let k: i32 = 0; k < this.closed.length; k++)
      this.weights[k] = conductance == 0 ? 0 : this.conductances[k] / conductance;
  }
}

/** The output module: where the sound is taken. */
export class Output extends Circuit {
  private readonly scheduler: Scheduler;
  private readonly net: StaticArray<f64>;
  private readonly channel: StaticArray<f64>;
  private readonly gain: f64;

  constructor(scheduler: Scheduler, net: Wire, channel: Wire, gain: f64) {
    super();
    this.scheduler = scheduler;
    this.net = net.volts;
    this.channel = channel.volts;
    this.gain = gain;
    this.reads(net);
    this.drives(channel);
  }

  process(from: i32, to: i32): void {
    const net = this.net;
    const channel = this.channel;
    const gain = this.gain;
    let sum: f64 = 0;
    for (let i = from; i < to; i++) {
      const sample = net[i] * gain;
      channel[i] = sample;
      sum += sample;
    }
    // Infinity and NaN do not give 0 here.
    if (sum - sum != 0) this.scheduler.isFinite = false;
  }

  rests(_samples: i32): bool {
    return true;
  }
}
