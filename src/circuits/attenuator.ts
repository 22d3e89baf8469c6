/** Attenuator: see src/modules/attenuator.ts. */
import { Circuit } from './core/circuit';
import { Wire } from './core/wire';
import { toRails } from './dsp/rails';

export class Attenuator extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly out: Wire;
  private readonly level: f64;
  private readonly offset: f64;

  constructor(input: Wire, out: Wire, level: f64, offset: f64) {
    super();
    this.input = input.volts;
    this.out = out;
    this.level = level;
    this.offset = offset;
    this.reads(input);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const out = this.out.volts;
    const weight = this.out.gain;
    const level = this.level;
    const offset = this.offset;
    for (let i = from; i < to; i++) out[i] = toRails(level * input[i] + offset) * weight;
  }

  tick(i: i32): void {
    const volts = toRails(this.level * this.input[i] + this.offset);
    this.out.volts[i] = volts * this.out.gain;
  }

  rests(_samples: i32): bool {
    return true;
  }
}
