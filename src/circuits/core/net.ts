/** What nets do that cannot be left to their one driver. */
import { Circuit } from './circuit';
import { BLOCK, Wire } from './wire';

/** A net of two or more drivers: their volts, each by its weight, summed in order. */
export class Sum extends Circuit {
  private readonly out: Wire;
  constructor(out: Wire) {
    super();
    this.out = out;
    this.drives(out);
  }
  plug(driver: Wire): void {
    this.reads(driver);
  }
  process(from: i32, to: i32): void {
    const out = this.out.volts;
    const inputs = this.inputs;
    for (let k: i32 = 0; k < inputs.length; k++) {
      const volts = inputs[k].volts;
      if (k == 0) for (let i = from; i < to; i++) out[i] = volts[i];
      else for (let i = from; i < to; i++) out[i] += volts[i];
    }
  }
  rests(_samples: i32): bool {
    return true;
  }
}

/** In a cycle: what reads a net before its driver has run sees the sample before. */
export class Late extends Circuit {
  private readonly net: StaticArray<f64>;
  private readonly late: StaticArray<f64>;
  constructor(net: Wire, late: Wire) {
    super();
    this.net = net.volts;
    this.late = late.volts;
    this.reads(net);
    this.drives(late);
  }
  process(from: i32, to: i32): void {
    for (let i = from; i < to; i++) this.late[(i + 1) & (BLOCK - 1)] = this.net[i];
  }
}

/** Where the sound is taken. */
export class Output extends Circuit {
  private readonly net: StaticArray<f64>;
  private readonly channel: StaticArray<f64>;
  private readonly gain: f64;
  finite: bool = true;
  constructor(net: Wire, channel: Wire, gain: f64) {
    super();
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
    if (sum - sum != 0) this.finite = false;
  }
  rests(_samples: i32): bool {
    return true;
  }
}
