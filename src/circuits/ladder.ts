/** Ladder filter: 24 dB an octave, with a resonance that can sing by itself. See src/modules/ladder.ts. */

import { Circuit } from './core/circuit';
import { BLOCK, Wire } from './core/wire';
import { Saturation } from './dsp/curves';
import { SteepHalfBand } from './dsp/half-band';
import { HIGHEST_LADDER_CUTOFF, LadderLoop } from './dsp/ladder-loop';
import { integratorGain } from './dsp/matched';
import { exp2, gainOfDb } from './dsp/math';
import { pairAt, putPair } from './dsp/pair';
import { toRails } from './dsp/rails';

/** k at 100 % resonance. */
const THRESHOLD: f64 = 4;
/** V at which the feedback limits: the loop's unit. */
const FEEDBACK_LIMIT: f64 = 5.5;
/** V at which the input limits, and the same in the loop's unit. */
const INPUT_LIMIT: f64 = 10;
const INPUT_SHARE: f64 = INPUT_LIMIT / FEEDBACK_LIMIT;

/** A stretch of a block at twice the rate. */
const LINE: StaticArray<f64> = new StaticArray<f64>(2 * BLOCK);

export class Ladder extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly control: StaticArray<f64>;
  private readonly out: Wire;
  /** Cutoff at 0 V over the loop's rate, and how far control moves it. */
  private readonly cutoff: f64;
  private readonly amount: f64;
  private readonly gain: f64;
  private readonly feedback: f64;
  private readonly doubler: SteepHalfBand = new SteepHalfBand();
  private readonly saturation: Saturation = new Saturation();
  private readonly loop: LadderLoop = new LadderLoop();
  private readonly halver: SteepHalfBand = new SteepHalfBand();
  /** Volts at control that the loop is tuned for; none at first. */
  private tunedFor: f64 = NaN;

  constructor(
    input: Wire,
    control: Wire,
    out: Wire,
    cutoff: f64,
    resonance: f64,
    drive: f64,
    amount: f64,
    sampleRate: f64,
  ) {
    super();
    this.input = input.volts;
    this.control = control.volts;
    this.out = out;
    this.cutoff = cutoff / (2 * sampleRate);
    this.amount = amount;
    this.gain = gainOfDb(drive) / INPUT_LIMIT;
    this.feedback = THRESHOLD * resonance;
    this.reads(input);
    this.reads(control);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    this.double(from, to);
    const control = this.control;
    for (let i = from; i < to; ) {
      const start = i;
      if (control[i] != this.tunedFor) this.tune(control[i]);
      i++;
      while (i < to && control[i] == this.tunedFor) i++;
      this.loop.run(LINE, 2 * start, 2 * i);
    }
    this.halve(from, to);
  }

  rests(_samples: i32): bool {
    return (
      this.input[BLOCK - 1] == 0 &&
      this.out.volts[BLOCK - 1] == 0 &&
      this.doubler.isStill &&
      this.saturation.isStill &&
      this.loop.isStill &&
      this.halver.isStill
    );
  }

  settle(): void {
    this.doubler.settle();
    this.loop.settle();
    this.halver.settle();
  }

  /** Converts the input to twice the rate and limits it. */
  private double(from: i32, to: i32): void {
    const input = this.input;
    const gain = this.gain;
    const doubler = this.doubler;
    const saturation = this.saturation;
    const share = f64x2.splat(INPUT_SHARE);
    for (let i = from; i < to; i++) {
      const two = saturation.run(doubler.run(f64x2.splat(gain * input[i])));
      putPair(LINE, 2 * i, f64x2.mul(share, two));
    }
  }

  /** Converts the loop's output back to the rate of the wires. */
  private halve(from: i32, to: i32): void {
    const out = this.out.volts;
    const weight = this.out.gain;
    const halver = this.halver;
    for (let i = from; i < to; i++) {
      const two = pairAt(LINE, 2 * i);
      const both = halver.run(v128.shuffle<f64>(two, two, 1, 0));
      const sum = f64x2.extract_lane(both, 0) + f64x2.extract_lane(both, 1);
      out[i] = toRails(sum * (FEEDBACK_LIMIT / 2)) * weight;
    }
  }

  private tune(control: f64): void {
    const isFirst = Number.isNaN(this.tunedFor);
    this.tunedFor = control;
    const cutoff = this.cutoff * exp2(this.amount * control);
    const gain = integratorGain(Math.min(cutoff, HIGHEST_LADDER_CUTOFF));
    if (isFirst && this.feedback > THRESHOLD) this.loop.sing(gain, this.feedback);
    this.loop.tune(gain, this.feedback);
  }
}
