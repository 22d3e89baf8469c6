/** Reverberator: sixteen delays in a network that keeps energy. Equations and sources: src/modules/reverberator.ts. */

import { Circuit } from './core/circuit';
import { BLOCK, gainOf, voltsOf, Wire } from './core/wire';
import { pairAt, putPair } from './dsp/pair';
import { toRails } from './dsp/rails';

const LINES: i32 = 16;
/** V. Smaller is inaudible, and far smaller numbers slow a processor down. */
const NOTHING: f64 = 1e-15;
const MOST_DIFFUSERS: i32 = 4;

export class Reverberator extends Circuit {
  private readonly input: StaticArray<f64>;
  // An output that nobody listens to has no wire.
  private readonly left: Wire | null;
  private readonly right: Wire | null;
  private readonly dry: f64;
  private readonly wet: f64;

  /** The high-pass ahead of the network: its coefficient, its last input and its last output. */
  private readonly keep: f64;
  private before: f64 = 0;
  private moving: f64 = 0;

  private readonly early: StaticArray<f64>;
  private earlyAt: i32 = 0;

  /** The diffusing all-passes, one behind the other in memory; starts, ends and places in samples. */
  private readonly diffused: StaticArray<f64>;
  private readonly diffuserStart: StaticArray<i32> = new StaticArray<i32>(MOST_DIFFUSERS);
  private readonly diffuserEnd: StaticArray<i32> = new StaticArray<i32>(MOST_DIFFUSERS);
  private readonly diffuserAt: StaticArray<i32> = new StaticArray<i32>(MOST_DIFFUSERS);
  private readonly diffusion: StaticArray<f64> = new StaticArray<f64>(MOST_DIFFUSERS);
  private diffusers: i32 = 0;

  /** The delays of the network, stored likewise. */
  private readonly delayed: StaticArray<f64>;
  private readonly start: StaticArray<i32> = new StaticArray<i32>(LINES);
  private readonly end: StaticArray<i32> = new StaticArray<i32>(LINES);
  private readonly at: StaticArray<i32> = new StaticArray<i32>(LINES);
  private lines: i32 = 0;
  /** Of each delay's absorption: gain, pole and last output. */
  private readonly gain: StaticArray<f64> = new StaticArray<f64>(LINES);
  private readonly pole: StaticArray<f64> = new StaticArray<f64>(LINES);
  private readonly absorbed: StaticArray<f64> = new StaticArray<f64>(LINES);
  /** The gain into each delay, and from each to either side. */
  private readonly into: StaticArray<f64> = new StaticArray<f64>(LINES);
  private readonly toLeft: StaticArray<f64> = new StaticArray<f64>(LINES);
  private readonly toRight: StaticArray<f64> = new StaticArray<f64>(LINES);

  /** The dispersing all-passes: a state each; those at the same position in all delays lie side by side. */
  private readonly dispersers: i32;
  private readonly bend: f64;
  private readonly dispersed: StaticArray<f64>;

  /** The outputs of the delays at this sample. */
  private readonly given: StaticArray<f64> = new StaticArray<f64>(LINES);
  private wetLeft: f64 = 0;
  private wetRight: f64 = 0;
  /** Whether its state is all 0. */
  private isStill: bool = true;

  constructor(
    input: Wire,
    left: Wire | null,
    right: Wire | null,
    samples: i32,
    diffused: i32,
    early: i32,
    dispersers: i32,
    bend: f64,
    keep: f64,
    dry: f64,
    wet: f64,
  ) {
    super();
    this.input = input.volts;
    this.left = left;
    this.right = right;
    this.delayed = new StaticArray<f64>(samples);
    this.diffused = new StaticArray<f64>(diffused);
    this.early = new StaticArray<f64>(early);
    this.dispersers = dispersers;
    this.bend = bend;
    this.dispersed = new StaticArray<f64>(dispersers * LINES);
    this.keep = keep;
    this.dry = dry;
    this.wet = wet;
    this.reads(input);
    this.drives(left);
    this.drives(right);
  }

  /** Adds a delay, to be called for each: its samples, its absorption, and its gains in and out. */
  addLine(samples: i32, gain: f64, pole: f64, into: f64, toLeft: f64, toRight: f64): void {
    const k = this.lines;
    const start = k > 0 ? this.end[k - 1] : 0;
    this.start[k] = start;
    this.at[k] = start;
    this.end[k] = start + samples;
    this.gain[k] = gain * (1 - pole);
    this.pole[k] = pole;
    this.into[k] = into;
    this.toLeft[k] = toLeft;
    this.toRight[k] = toRight;
    this.lines = k + 1;
  }

  /** Adds a diffusing all-pass, to be called for each. */
  addDiffuser(samples: i32, gain: f64): void {
    const k = this.diffusers;
    const start = k > 0 ? this.diffuserEnd[k - 1] : 0;
    this.diffuserStart[k] = start;
    this.diffuserAt[k] = start;
    this.diffuserEnd[k] = start + samples;
    this.diffusion[k] = gain;
    this.diffusers = k + 1;
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const left = voltsOf(this.left);
    const right = voltsOf(this.right);
    const leftGain = gainOf(this.left);
    const rightGain = gainOf(this.right);
    const dry = this.dry;
    const wet = this.wet;
    for (let i = from; i < to; i++) {
      const x = input[i];
      this.reverberate(x);
      left[i] = toRails(dry * x + wet * this.wetLeft) * leftGain;
      right[i] = toRails(dry * x + wet * this.wetRight) * rightGain;
    }
    this.isStill = false;
  }

  rests(_samples: i32): bool {
    const last = BLOCK - 1;
    const x = this.input[last];
    if (!this.isStill || this.before != x) return false;
    const dry = toRails(this.dry * x);
    const left = this.left;
    if (left != null && left.volts[last] != dry * left.gain) return false;
    const right = this.right;
    return right == null || right.volts[last] == dry * right.gain;
  }

  settle(): void {
    if (Math.abs(this.moving) < NOTHING) this.moving = 0;
    // All of it is cleared at once, so that it need not be searched while it sounds.
    if (this.moving != 0 || Math.abs(this.wetLeft) >= NOTHING || Math.abs(this.wetRight) >= NOTHING)
      return;
    if (!isNothing(this.absorbed) || !isNothing(this.dispersed) || !isNothing(this.early)) return;
    if (!isNothing(this.diffused) || !isNothing(this.delayed)) return;
    clear(this.absorbed);
    clear(this.dispersed);
    clear(this.early);
    clear(this.diffused);
    clear(this.delayed);
    this.isStill = true;
  }

  /** Takes one sample in, and works out both wet sides. */
  private reverberate(x: f64): void {
    this.moving = x - this.before + this.keep * this.moving;
    this.before = x;
    const u = this.diffuse(this.wait(this.moving));
    const given = this.given;
    const delayed = this.delayed;
    const places = this.at;
    const dispersed = this.dispersed;
    const states = this.dispersers * LINES;
    const bends = f64x2.splat(this.bend);
    let lefts = f64x2.splat(0);
    let rights = f64x2.splat(0);
    // Two delays at a time.
    for (let k: i32 = 0; k < LINES; k += 2) {
      const first = f64x2.splat(delayed[places[k]]);
      const two = f64x2.replace_lane(first, 1, delayed[places[k + 1]]);
      let y = f64x2.add(
        f64x2.mul(pairAt(this.gain, k), two),
        f64x2.mul(pairAt(this.pole, k), pairAt(this.absorbed, k)),
      );
      putPair(this.absorbed, k, y);
      for (let s = k; s < states; s += LINES) {
        const passed = f64x2.add(f64x2.mul(bends, y), pairAt(dispersed, s));
        putPair(dispersed, s, f64x2.sub(y, f64x2.mul(bends, passed)));
        y = passed;
      }
      putPair(given, k, y);
      lefts = f64x2.add(lefts, f64x2.mul(pairAt(this.toLeft, k), y));
      rights = f64x2.add(rights, f64x2.mul(pairAt(this.toRight, k), y));
    }
    this.wetLeft = f64x2.extract_lane(lefts, 0) + f64x2.extract_lane(lefts, 1);
    this.wetRight = f64x2.extract_lane(rights, 0) + f64x2.extract_lane(rights, 1);
    hadamard(given);
    for (let k: i32 = 0; k < LINES; k++) {
      const place = places[k];
      delayed[place] = 0.25 * given[k] + this.into[k] * u;
      places[k] = place + 1 < this.end[k] ? place + 1 : this.start[k];
    }
  }

  /** The pre-delay. */
  private wait(x: f64): f64 {
    const early = this.early;
    if (early.length == 0) return x;
    const at = this.earlyAt;
    const late = early[at];
    early[at] = x;
    this.earlyAt = at + 1 < early.length ? at + 1 : 0;
    return late;
  }

  /** The all-passes in a row: (g + z^-n)/(1 + g z^-n). */
  private diffuse(x: f64): f64 {
    const diffused = this.diffused;
    for (let k: i32 = 0; k < this.diffusers; k++) {
      const at = this.diffuserAt[k];
      const g = this.diffusion[k];
      const late = diffused[at];
      const now = x - g * late;
      diffused[at] = now;
      x = late + g * now;
      this.diffuserAt[k] = at + 1 < this.diffuserEnd[k] ? at + 1 : this.diffuserStart[k];
    }
    return x;
  }
}

function isNothing(list: StaticArray<f64>): bool {
  for (let i: i32 = 0; i < list.length; i++) if (Math.abs(list[i]) >= NOTHING) return false;
  return true;
}

function clear(list: StaticArray<f64>): void {
  for (let i: i32 = 0; i < list.length; i++) list[i] = 0;
}

/** Multiplies sixteen numbers by the Hadamard matrix of plus and minus ones, in place. */
function hadamard(list: StaticArray<f64>): void {
  for (let k: i32 = 0; k < LINES; k += 2) {
    const a = list[k];
    const b = list[k + 1];
    list[k] = a + b;
    list[k + 1] = a - b;
  }
  for (let apart: i32 = 2; apart < LINES; apart *= 2)
    for (let first: i32 = 0; first < LINES; first += 2 * apart)
      for (let k = first; k < first + apart; k += 2) {
        const a = pairAt(list, k);
        const b = pairAt(list, k + apart);
        putPair(list, k, f64x2.add(a, b));
        putPair(list, k + apart, f64x2.sub(a, b));
      }
}

export function reverberatorLine(
  made: Reverberator,
  samples: i32,
  gain: f64,
  pole: f64,
  into: f64,
  toLeft: f64,
  toRight: f64,
): void {
  made.addLine(samples, gain, pole, into, toLeft, toRight);
}

export function reverberatorDiffuser(made: Reverberator, samples: i32, gain: f64): void {
  made.addDiffuser(samples, gain);
}
