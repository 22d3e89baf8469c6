/** Shaper: a curve bends the wave. Equations and source: src/modules/shaper.ts. */

import { Circuit } from './core/circuit';
import { Scheduler } from './core/scheduler';
import { BLOCK, Wire } from './core/wire';
import { Curve, Folding, Rectification, Saturation } from './dsp/curves';
import {
  CleanSteepHalfBand,
  CleanWideHalfBand,
  SteepHalfBand,
  WideHalfBand,
  WidestHalfBand,
} from './dsp/half-band';
import { exp2, gainOfDb } from './dsp/math';
import { toRails } from './dsp/rails';

/** V, the unit of the curves. */
const BEND: f64 = 5;
/** V at which a rectified wave stops. */
const RECTIFIED: f64 = 9;
/** 60 dB: the gain that no control voltage exceeds. */
const MOST_GAIN: f64 = 1000;

/** One class for each curve, so that its arithmetic is inlined in the loop. */
export class Shaper<C extends Curve> extends Circuit {
  private readonly input: StaticArray<f64>;
  /** Volts at control that `gain` is for; none at first. */
  private readonly control: StaticArray<f64>;
  private readonly out: Wire;
  private readonly curve: C;
  private readonly drive: f64;
  private readonly amount: f64;
  private readonly bias: f64;
  private readonly doubler: CleanSteepHalfBand = new CleanSteepHalfBand();
  private readonly redoubler: CleanWideHalfBand = new CleanWideHalfBand();
  private readonly thirdDoubler: WidestHalfBand = new WidestHalfBand();
  private readonly thirdHalver: WidestHalfBand = new WidestHalfBand();
  private readonly rehalver: WideHalfBand = new WideHalfBand();
  private readonly halver: SteepHalfBand = new SteepHalfBand();
  /** Whether it has corners, which take eight times the rate; otherwise four are enough. */
  private readonly isCornered: bool;
  private followed: f64 = NaN;
  private gain: f64 = 0;

  constructor(
    input: Wire,
    control: Wire,
    out: Wire,
    drive: f64,
    amount: f64,
    bias: f64,
    curve: C,
    isCornered: bool,
  ) {
    super();
    this.curve = curve;
    this.isCornered = isCornered;
    this.input = input.volts;
    this.control = control.volts;
    this.out = out;
    this.drive = gainOfDb(drive);
    this.amount = amount;
    this.bias = bias / BEND;
    this.reads(input);
    this.reads(control);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const control = this.control;
    const out = this.out.volts;
    const weight = this.out.gain;
    const doubler = this.doubler;
    const halver = this.halver;
    const scale = BEND / (this.isCornered ? 8 : 4);
    for (let i = from; i < to; i++) {
      if (control[i] != this.followed) this.follow(control[i]);
      const two = doubler.run(f64x2.splat(this.gain * input[i]));
      const odd = this.bentTwice(v128.shuffle<f64>(two, two, 0, 0));
      const even = this.bentTwice(v128.shuffle<f64>(two, two, 1, 1));
      const h = halver.run(f64x2.replace_lane(f64x2.splat(even), 1, odd));
      out[i] = toRails((f64x2.extract_lane(h, 0) + f64x2.extract_lane(h, 1)) * scale) * weight;
    }
  }

  /** Bends a sample of twice the rate, in both lanes: the result is two or four times as large. */
  private bentTwice(x: v128): f64 {
    const two = this.redoubler.run(x);
    if (!this.isCornered) {
      const bent = this.curve.run(f64x2.add(two, f64x2.splat(this.bias)));
      const both = this.rehalver.run(v128.shuffle<f64>(bent, bent, 1, 0));
      return f64x2.extract_lane(both, 0) + f64x2.extract_lane(both, 1);
    }
    const odd = this.bent(v128.shuffle<f64>(two, two, 0, 0));
    const even = this.bent(v128.shuffle<f64>(two, two, 1, 1));
    const h = this.rehalver.run(f64x2.replace_lane(f64x2.splat(even), 1, odd));
    return f64x2.extract_lane(h, 0) + f64x2.extract_lane(h, 1);
  }

  /** The same of a sample of four times the rate, as two of eight times the rate: twice as large. */
  private bent(x: v128): f64 {
    const two = this.curve.run(f64x2.add(this.thirdDoubler.run(x), f64x2.splat(this.bias)));
    const h = this.thirdHalver.run(v128.shuffle<f64>(two, two, 1, 0));
    return f64x2.extract_lane(h, 0) + f64x2.extract_lane(h, 1);
  }

  rests(_samples: i32): bool {
    // Only silence comes out exactly as it went in.
    return (
      this.input[BLOCK - 1] == 0 &&
      this.out.volts[BLOCK - 1] == 0 &&
      this.bias == 0 &&
      this.doubler.isStill &&
      this.redoubler.isStill &&
      this.curve.isStill &&
      this.thirdDoubler.isStill &&
      this.thirdHalver.isStill &&
      this.rehalver.isStill &&
      this.halver.isStill
    );
  }

  settle(): void {
    this.doubler.settle();
    this.redoubler.settle();
    this.thirdDoubler.settle();
    this.thirdHalver.settle();
    this.rehalver.settle();
    this.halver.settle();
  }

  private follow(control: f64): void {
    this.followed = control;
    this.gain = Math.min(this.drive * exp2(this.amount * control), MOST_GAIN) / BEND;
  }
}

/** @param shape 0 saturate, 1 fold, 2 rectify. */
export function shaper(
  scheduler: Scheduler,
  input: Wire,
  control: Wire,
  out: Wire,
  shape: i32,
  drive: f64,
  amount: f64,
  bias: f64,
): void {
  if (shape == 0)
    scheduler.add(
      new Shaper<Saturation>(input, control, out, drive, amount, bias, new Saturation(), false),
    );
  else if (shape == 1)
    scheduler.add(
      new Shaper<Folding>(input, control, out, drive, amount, bias, new Folding(), true),
    );
  else
    scheduler.add(
      new Shaper<Rectification>(
        input,
        control,
        out,
        drive,
        amount,
        bias,
        new Rectification(RECTIFIED / BEND),
        true,
      ),
    );
}
