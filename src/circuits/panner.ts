/** Panner: see src/modules/panner.ts. */
import { Circuit } from './core/circuit';
import { Wire } from './core/wire';
import { quarterSine } from './dsp/curves';
import { toRails } from './dsp/rails';

/** V from the middle to one side. */
const SIDE: f64 = 5;

/**
 * Gives the left side's gain; the right side's is that of the mirrored place.
 * @param place from -1, left, to 1, right.
 */
function leftGain(place: f64): f64 {
  return quarterSine(0.5 - 0.5 * place);
}

export class Panner extends Circuit {
  private readonly input: StaticArray<f64>;
  /** Volts at pan that the gains are for; none at first. */
  private readonly control: StaticArray<f64>;
  private readonly left: Wire;
  private readonly right: Wire;
  private readonly pan: f64;
  private readonly perVolt: f64;
  private followed: f64 = NaN;
  private leftGain: f64 = 0;
  private rightGain: f64 = 0;

  constructor(input: Wire, control: Wire, left: Wire, right: Wire, pan: f64, amount: f64) {
    super();
    this.input = input.volts;
    this.control = control.volts;
    this.left = left;
    this.right = right;
    this.pan = pan;
    this.perVolt = amount / SIDE;
    this.reads(input);
    this.reads(control);
    this.drives(left);
    this.drives(right);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const control = this.control;
    const left = this.left.volts;
    const right = this.right.volts;
    const leftWeight = this.left.gain;
    const rightWeight = this.right.gain;
    let followed = this.followed;
    let l = this.leftGain;
    let r = this.rightGain;
    for (let i = from; i < to; i++) {
      if (control[i] != followed) {
        followed = control[i];
        this.follow(followed);
        l = this.leftGain;
        r = this.rightGain;
      }
      const x = input[i];
      left[i] = toRails(x * l) * leftWeight;
      right[i] = toRails(x * r) * rightWeight;
    }
    this.followed = followed;
  }

  tick(i: i32): void {
    const control = this.control[i];
    if (control != this.followed) {
      this.followed = control;
      this.follow(control);
    }
    const x = this.input[i];
    this.left.volts[i] = toRails(x * this.leftGain) * this.left.gain;
    this.right.volts[i] = toRails(x * this.rightGain) * this.right.gain;
  }

  rests(_samples: i32): bool {
    return true;
  }

  private follow(control: f64): void {
    const place = Math.min(Math.max(this.pan + this.perVolt * control, -1), 1);
    this.leftGain = leftGain(place);
    this.rightGain = leftGain(-place);
  }
}
