/** Amplifier: see src/modules/amplifier.ts. */
import { Circuit } from './core/circuit';
import { Wire } from './core/wire';
import { gainOfDb } from './dsp/math';
import { pairAt, putPair, rails } from './dsp/pair';
import { toRails } from './dsp/rails';

abstract class Amplifier extends Circuit {
  protected readonly input: StaticArray<f64>;
  protected readonly control: StaticArray<f64>;
  protected readonly out: Wire;
  protected readonly most: f64;

  constructor(input: Wire, control: Wire, out: Wire, maxGain: f64) {
    super();
    this.input = input.volts;
    this.control = control.volts;
    this.out = out;
    this.most = gainOfDb(maxGain);
    this.reads(input);
    this.reads(control);
    this.drives(out);
  }

  rests(_samples: i32): bool {
    return true;
  }

  shuts(samples: i32): bool {
    return (
      !this.inputs[1].moving && this.control[samples - 1] <= 0 && this.out.volts[samples - 1] == 0
    );
  }
}

export class LinearAmplifier extends Amplifier {
  private readonly perVolt: f64;

  constructor(input: Wire, control: Wire, out: Wire, unity: f64, maxGain: f64) {
    super(input, control, out, maxGain);
    this.perVolt = 1 / unity;
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const control = this.control;
    const out = this.out.volts;
    const weight = this.out.gain;
    const perVolt = this.perVolt;
    const most = this.most;
    let i = from;
    const perVolts = f64x2.splat(perVolt);
    const mosts = f64x2.splat(most);
    const weights = f64x2.splat(weight);
    const zero = f64x2.splat(0);
    for (; i + 1 < to; i += 2) {
      const gain = f64x2.mul(pairAt(control, i), perVolts);
      const v = f64x2.mul(rails(f64x2.mul(pairAt(input, i), f64x2.pmin(mosts, gain))), weights);
      putPair(out, i, v128.and(v, f64x2.gt(gain, zero)));
    }
    for (; i < to; i++) {
      const gain = control[i] * perVolt;
      out[i] = gain > 0 ? toRails(input[i] * (gain < most ? gain : most)) * weight : 0;
    }
  }

  tick(i: i32): void {
    const most = this.most;
    const gain = this.control[i] * this.perVolt;
    const volts = gain > 0 ? toRails(this.input[i] * (gain < most ? gain : most)) : 0;
    this.out.volts[i] = gain > 0 ? volts * this.out.gain : 0;
  }
}

export class ExponentialAmplifier extends Amplifier {
  private readonly unity: f64;
  private readonly range: f64;
  /** The power's own gain at 0 V, which is subtracted. */
  private readonly standing: f64;
  /** Volts at control that `gain` is for; none at first. */
  private followed: f64 = NaN;
  private gain: f64 = 0;

  constructor(input: Wire, control: Wire, out: Wire, unity: f64, range: f64, maxGain: f64) {
    super(input, control, out, maxGain);
    this.unity = unity;
    this.range = range;
    this.standing = gainOfDb(-range);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const control = this.control;
    const out = this.out.volts;
    const weight = this.out.gain;
    let followed = this.followed;
    let gain = this.gain;
    for (let i = from; i < to; i++) {
      if (control[i] != followed) {
        followed = control[i];
        gain = this.gainAt(followed);
      }
      // 0 V whatever comes in, and never -0 V: closed, it may be skipped.
      out[i] = gain > 0 ? toRails(input[i] * gain) * weight : 0;
    }
    this.followed = followed;
    this.gain = gain;
  }

  tick(i: i32): void {
    const control = this.control[i];
    if (control != this.followed) {
      this.followed = control;
      this.gain = this.gainAt(control);
    }
    const gain = this.gain;
    this.out.volts[i] = gain > 0 ? toRails(this.input[i] * gain) * this.out.gain : 0;
  }

  private gainAt(control: f64): f64 {
    if (!(control > 0)) return 0;
    const power = gainOfDb(this.range * (control / this.unity - 1));
    const gain = (power - this.standing) / (1 - this.standing);
    // Just above 0 V two roundings may leave a difference below 0.
    return gain > 0 ? Math.min(gain, this.most) : 0;
  }
}
