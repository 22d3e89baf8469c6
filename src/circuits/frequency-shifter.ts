/** Frequency shifter: a Hilbert pair, turned by an oscillator. See src/modules/frequency-shifter.ts. */

import { Circuit } from './core/circuit';
import { BLOCK, gainOf, voltsOf, Wire } from './core/wire';
import { SteepHalfBand } from './dsp/half-band';
import { cosSinTurns } from './dsp/math';
import { pairAt, putPair } from './dsp/pair';
import { toRails } from './dsp/rails';

/** All-passes in each chain. */
const SECTIONS: i32 = 10;
/** V. Smaller is inaudible, and far smaller numbers slow a processor down. */
const NOTHING: f64 = 1e-15;

export class FrequencyShifter extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly control: StaticArray<f64>;
  // An output that nobody listens to has no wire.
  private readonly up: Wire | null;
  private readonly down: Wire | null;
  /** Turns a sample at twice the rate: at 0 V, and for each volt. */
  private readonly shift: f64;
  private readonly perVolt: f64;

  /** Coefficients of both chains, side by side. */
  private readonly sections: StaticArray<f64> = new StaticArray<f64>(2 * SECTIONS);
  private told: i32 = 0;
  /** The input of each section one and two samples ago; the last is the output. */
  private readonly before: StaticArray<f64> = new StaticArray<f64>(2 * SECTIONS + 2);
  private readonly earlier: StaticArray<f64> = new StaticArray<f64>(2 * SECTIONS + 2);
  /** The input one sample ago. */
  private late: f64 = 0;
  private readonly doubledI: SteepHalfBand = new SteepHalfBand();
  private readonly doubledQ: SteepHalfBand = new SteepHalfBand();
  private readonly halvedUp: SteepHalfBand = new SteepHalfBand();
  private readonly halvedDown: SteepHalfBand = new SteepHalfBand();
  private phase: f64 = 0;

  constructor(
    input: Wire,
    control: Wire,
    up: Wire | null,
    down: Wire | null,
    shift: f64,
    perVolt: f64,
    sampleRate: f64,
  ) {
    super();
    this.input = input.volts;
    this.control = control.volts;
    this.up = up;
    this.down = down;
    this.shift = shift / (2 * sampleRate);
    this.perVolt = perVolt / (2 * sampleRate);
    this.reads(input);
    this.reads(control);
    this.drives(up);
    this.drives(down);
  }

  /** Sets the coefficients of a pair of sections, to be called for each. */
  add(i: f64, q: f64): void {
    this.sections[this.told] = i;
    this.sections[this.told + 1] = q;
    this.told += 2;
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const control = this.control;
    const up = voltsOf(this.up);
    const down = voltsOf(this.down);
    const upGain = gainOf(this.up);
    const downGain = gainOf(this.down);
    let phase = this.phase;
    for (let i = from; i < to; i++) {
      const both = this.pair(input[i]);
      const ii = this.doubledI.run(f64x2.splat(f64x2.extract_lane(both, 0)));
      const qq = this.doubledQ.run(f64x2.splat(f64x2.extract_lane(both, 1)));
      const turns = this.shift + this.perVolt * control[i];
      const first = cosSinTurns(phase);
      phase = wrapped(phase + turns);
      const second = cosSinTurns(phase);
      phase = wrapped(phase + turns);
      const cosines = v128.shuffle<f64>(first, second, 0, 2);
      const sines = v128.shuffle<f64>(first, second, 1, 3);
      const a = f64x2.mul(ii, cosines);
      const b = f64x2.mul(qq, sines);
      if (upGain != 0) up[i] = toRails(halved(this.halvedUp, f64x2.sub(a, b))) * upGain;
      if (downGain != 0) down[i] = toRails(halved(this.halvedDown, f64x2.add(a, b))) * downGain;
    }
    this.phase = phase;
  }

  rests(_samples: i32): bool {
    const last = BLOCK - 1;
    if (this.input[last] != 0 || this.late != 0 || !this.isStill()) return false;
    const outputs = this.outputs;
    for (let k: i32 = 0; k < outputs.length; k++) if (outputs[k].volts[last] != 0) return false;
    return true;
  }

  skip(samples: i32): void {
    const turns = this.shift + this.perVolt * this.control[samples - 1];
    let phase = this.phase;
    for (let n: i32 = 0; n < 2 * samples; n++) phase = wrapped(phase + turns);
    this.phase = phase;
  }

  settle(): void {
    flush(this.before);
    flush(this.earlier);
    this.doubledI.settle();
    this.doubledQ.settle();
    this.halvedUp.settle();
    this.halvedDown.settle();
  }

  /** The Hilbert pair: i in lane 0, q in lane 1. */
  private pair(x: f64): v128 {
    const sections = this.sections;
    const before = this.before;
    const earlier = this.earlier;
    let y = f64x2.replace_lane(f64x2.splat(x), 1, this.late);
    this.late = x;
    for (let k: i32 = 0; k < 2 * SECTIONS; k += 2) {
      const entered = pairAt(earlier, k);
      const left = pairAt(earlier, k + 2);
      putPair(earlier, k, pairAt(before, k));
      putPair(before, k, y);
      // y = c (x + y2) - x2, 2 being two samples ago.
      y = f64x2.sub(f64x2.mul(pairAt(sections, k), f64x2.add(y, left)), entered);
    }
    putPair(earlier, 2 * SECTIONS, pairAt(before, 2 * SECTIONS));
    putPair(before, 2 * SECTIONS, y);
    return y;
  }

  private isStill(): bool {
    for (let k: i32 = 0; k < this.before.length; k++)
      if (this.before[k] != 0 || this.earlier[k] != 0) return false;
    return (
      this.doubledI.isStill &&
      this.doubledQ.isStill &&
      this.halvedUp.isStill &&
      this.halvedDown.isStill
    );
  }
}

/** Back to the rate of the wires. */
function halved(halver: SteepHalfBand, two: v128): f64 {
  const both = halver.run(v128.shuffle<f64>(two, two, 1, 0));
  return 0.5 * (f64x2.extract_lane(both, 0) + f64x2.extract_lane(both, 1));
}

/** The phase without its whole turns. */
function wrapped(phase: f64): f64 {
  return phase - Math.floor(phase);
}

function flush(list: StaticArray<f64>): void {
  for (let k: i32 = 0; k < list.length; k++) if (Math.abs(list[k]) < NOTHING) list[k] = 0;
}

export function frequencyShifterSection(made: FrequencyShifter, i: f64, q: f64): void {
  made.add(i, q);
}
