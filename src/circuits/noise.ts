/** Noise: one random source, as it is and through two filters. Equations: src/modules/noise.ts. */

import { Circuit } from './core/circuit';
import { BLOCK, gainOf, voltsOf, Wire } from './core/wire';
import { Ceiling } from './dsp/ceiling';
import { Gaussian } from './dsp/gaussian';
import { toRails } from './dsp/rails';

const RAIL_VOLTS: f64 = 12;
/** Poles of the pink filter and of what both filters share. */
const PINK_POLES: i32 = 5;

/** The random numbers of a stretch. */
const NUMBERS: StaticArray<f64> = new StaticArray<f64>(BLOCK);

/** A source whose white noise may end below half the sample rate. */
export abstract class Noise extends Circuit {
  ceiling: Ceiling | null = null;

  /** What the ceiling leaves of the stretch's numbers, in volts. */
  protected fillUnder(ceiling: Ceiling, white: Wire, level: f64, from: i32, to: i32): void {
    const volts = white.volts;
    const gain = white.gain;
    ceiling.run(NUMBERS, volts, from, to);
    for (let i = from; i < to; i++) volts[i] = toRails(level * volts[i]) * gain;
  }
}

/** White alone, when nothing listens to the others: most hats and snares. */
export class WhiteNoise extends Noise {
  private readonly white: Wire;
  private readonly level: f64;
  private readonly gaussian: Gaussian;

  constructor(white: Wire, level: f64, a: i32, b: i32, c: i32, d: i32) {
    super();
    this.white = white;
    this.level = level;
    // Only the rare numbers of the tail can reach the rails; each is limited as it comes.
    this.gaussian = new Gaussian(a, b, c, d, RAIL_VOLTS / level);
    this.drives(white);
  }

  process(from: i32, to: i32): void {
    const ceiling = this.ceiling;
    if (ceiling === null) {
      this.gaussian.fill(this.white.volts, from, to, this.level, this.white.gain);
      return;
    }
    this.gaussian.fill(NUMBERS, from, to, 1, 1);
    this.fillUnder(ceiling, this.white, this.level, from, to);
  }
}

/** The same white noise, and the two filters behind it. */
export class ColouredNoise extends Noise {
  // An output that nobody listens to has no wire.
  private readonly white: Wire | null;
  private readonly pink: Wire | null;
  private readonly red: Wire | null;
  private readonly level: f64;
  private gaussian: Gaussian;

  // Pink: five poles from the lowest up, then the top that it shares with red; two in each pair.
  private poles01: v128 = f64x2.splat(0);
  private poles23: v128 = f64x2.splat(0);
  private poles45: v128 = f64x2.splat(0);
  private weights01: v128 = f64x2.splat(0);
  private weights23: v128 = f64x2.splat(0);
  private weights45: v128 = f64x2.splat(0);
  private readonly direct: f64;
  private states01: v128 = f64x2.splat(0);
  private states23: v128 = f64x2.splat(0);
  private states45: v128 = f64x2.splat(0);

  private readonly redZero: f64;
  private readonly redDecay: f64;
  private readonly redPull: f64;
  private readonly redGain: f64;
  private redState: f64 = 0;
  private redSum: f64 = 0;

  /**
   * Its poles are to be set afterwards (`colouredNoisePole`).
   * @param direct the sample's own share in pink, V; `redGain`: V, too.
   */
  constructor(
    white: Wire | null,
    pink: Wire | null,
    red: Wire | null,
    level: f64,
    direct: f64,
    redZero: f64,
    redDecay: f64,
    redPull: f64,
    redGain: f64,
    a: i32,
    b: i32,
    c: i32,
    d: i32,
  ) {
    super();
    this.white = white;
    this.pink = pink;
    this.red = red;
    this.level = level;
    this.direct = direct;
    this.redZero = redZero;
    this.redDecay = redDecay;
    this.redPull = redPull;
    this.redGain = redGain;
    this.gaussian = new Gaussian(a, b, c, d, Infinity);
    this.drives(white);
    this.drives(pink);
    this.drives(red);
  }

  /** Sets a pole of pink noise and its weight; the last is the top. */
  setPole(k: i32, pole: f64, weight: f64): void {
    if (k == 0) {
      this.poles01 = f64x2.replace_lane(this.poles01, 0, pole);
      this.weights01 = f64x2.replace_lane(this.weights01, 0, weight);
    } else if (k == 1) {
      this.poles01 = f64x2.replace_lane(this.poles01, 1, pole);
      this.weights01 = f64x2.replace_lane(this.weights01, 1, weight);
    } else if (k == 2) {
      this.poles23 = f64x2.replace_lane(this.poles23, 0, pole);
      this.weights23 = f64x2.replace_lane(this.weights23, 0, weight);
    } else if (k == 3) {
      this.poles23 = f64x2.replace_lane(this.poles23, 1, pole);
      this.weights23 = f64x2.replace_lane(this.weights23, 1, weight);
    } else if (k < PINK_POLES) {
      this.poles45 = f64x2.replace_lane(this.poles45, 0, pole);
      this.weights45 = f64x2.replace_lane(this.weights45, 0, weight);
    } else {
      this.poles45 = f64x2.replace_lane(this.poles45, 1, pole);
      this.weights45 = f64x2.replace_lane(this.weights45, 1, weight);
    }
  }

  /** Lets the filters run for some samples on other noise, so that they are under way at the start. */
  warmUp(samples: i32, gaussian: Gaussian): void {
    const own = this.gaussian;
    this.gaussian = gaussian;
    for (let done: i32 = 0; done < samples; done += BLOCK)
      this.process(0, samples - done < BLOCK ? samples - done : BLOCK);
    this.gaussian = own;
  }

  process(from: i32, to: i32): void {
    const white = voltsOf(this.white);
    const pink = voltsOf(this.pink);
    const red = voltsOf(this.red);
    const whiteGain = gainOf(this.white);
    const pinkGain = gainOf(this.pink);
    const redWeight = gainOf(this.red);
    const level = this.level;
    const poles01 = this.poles01;
    const poles23 = this.poles23;
    const poles45 = this.poles45;
    const weights01 = this.weights01;
    const weights23 = this.weights23;
    const weights45 = this.weights45;
    const direct = this.direct;
    const redZero = this.redZero;
    const redDecay = this.redDecay;
    const redPull = this.redPull;
    const redGain = this.redGain;
    const numbers = NUMBERS;
    let states01 = this.states01;
    let states23 = this.states23;
    let states45 = this.states45;
    let redState = this.redState;
    let redSum = this.redSum;
    this.gaussian.fill(numbers, from, to, 1, 1);
    for (let i = from; i < to; i++) {
      const x = numbers[i];
      const both = f64x2.splat(x);
      const before = f64x2.extract_lane(states45, 1);
      states01 = f64x2.add(f64x2.mul(poles01, states01), both);
      states23 = f64x2.add(f64x2.mul(poles23, states23), both);
      states45 = f64x2.add(f64x2.mul(poles45, states45), both);
      const top = f64x2.extract_lane(states45, 1);
      redState = redDecay * redState + (top + redZero * before) - redPull * redSum;
      redSum += redState;
      if (whiteGain != 0) white[i] = toRails(level * x) * whiteGain;
      if (redWeight != 0) red[i] = toRails(redGain * redState) * redWeight;
      if (pinkGain != 0) {
        const sum = f64x2.add(
          f64x2.add(f64x2.mul(weights01, states01), f64x2.mul(weights23, states23)),
          f64x2.mul(weights45, states45),
        );
        const poles = f64x2.extract_lane(sum, 0) + f64x2.extract_lane(sum, 1);
        pink[i] = toRails(poles + direct * x) * pinkGain;
      }
    }
    const wire = this.white;
    const ceiling = this.ceiling;
    if (wire !== null && ceiling !== null) this.fillUnder(ceiling, wire, level, from, to);
    this.states01 = states01;
    this.states23 = states23;
    this.states45 = states45;
    this.redState = redState;
    this.redSum = redSum;
  }
}

/** Lets white noise go no further up: section `k` of `sections`, once its filters are warm. */
export function noiseSection(noise: Noise, sections: i32, k: i32, b: f64, a1: f64, a2: f64): void {
  const ceiling = noise.ceiling;
  const own = ceiling === null ? new Ceiling(sections) : ceiling;
  own.setSection(k, b, a1, a2);
  noise.ceiling = own;
}

/** @param k 0 to 4: poles of pink from the lowest up; 5: the top. `weight`: V. */
export function colouredNoisePole(noise: ColouredNoise, k: i32, pole: f64, weight: f64): void {
  noise.setPole(k, pole, weight);
}

export function colouredNoiseWarmUp(
  noise: ColouredNoise,
  samples: i32,
  a: i32,
  b: i32,
  c: i32,
  d: i32,
): void {
  noise.warmUp(samples, new Gaussian(a, b, c, d, Infinity));
}
