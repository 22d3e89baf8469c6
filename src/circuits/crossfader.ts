/** Crossfader: see src/modules/crossfader.ts. */

import { Circuit } from './core/circuit';
import { Wire } from './core/wire';
import { quarterSine } from './dsp/curves';
import { toRails } from './dsp/rails';

/** V from the middle to one end. */
const END: f64 = 5;

export class Crossfader extends Circuit {
  private readonly a: StaticArray<f64>;
  private readonly b: StaticArray<f64>;
  private readonly controls: StaticArray<f64>;
  private readonly out: Wire;
  private readonly mix: f64;
  private readonly perVolt: f64;
  private readonly isLinear: bool;
  /** Volts at control that the gains are for; none at first. */
  private followed: f64 = NaN;
  private aGain: f64 = 0;
  private bGain: f64 = 0;

  constructor(a: Wire, b: Wire, control: Wire, out: Wire, mix: f64, amount: f64, linear: bool) {
    super();
    this.a = a.volts;
    this.b = b.volts;
    this.controls = control.volts;
    this.out = out;
    this.mix = mix;
    this.perVolt = amount / (2 * END);
    this.isLinear = linear;
    this.reads(a);
    this.reads(b);
    this.reads(control);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const a = this.a;
    const b = this.b;
    const controls = this.controls;
    const out = this.out.volts;
    const weight = this.out.gain;
    let followed = this.followed;
    let aGain = this.aGain;
    let bGain = this.bGain;
    for (let i = from; i < to; i++) {
      if (controls[i] != followed) {
        followed = controls[i];
        this.follow(followed);
        aGain = this.aGain;
        bGain = this.bGain;
      }
      out[i] = toRails(aGain * a[i] + bGain * b[i]) * weight;
    }
    this.followed = followed;
  }

  rests(_samples: i32): bool {
    return true;
  }

  private follow(control: f64): void {
    const place = Math.min(Math.max(this.mix + this.perVolt * control, 0), 1);
    this.aGain = this.isLinear ? 1 - place : quarterSine(1 - place);
    this.bGain = this.isLinear ? place : quarterSine(place);
  }
}
