/** Delay line: sound, some time later, and round again. Theory and sources: src/modules/delay-line.ts. */

import { Circuit } from './core/circuit';
import { Wire } from './core/wire';
import { integratorGain } from './dsp/matched';
import { atan, exp2 } from './dsp/math';
import { toRails } from './dsp/rails';

/** Samples that are weighted for the sound between two of them, and how many of these are newer. */
const TAPS: i32 = 8;
const NEWER: i32 = 3;
/** The shortest delay, samples: with less, the newest of the taps would not exist yet. */
const SHORTEST: f64 = 4;
/** Cycles a sample: the highest pitch at which the low-pass's delay is compensated. */
const HIGHEST_LOOP: f64 = 0.25;
/** V at control that count as 100 %. */
const WHOLE: f64 = 5;
const PI: f64 = Math.PI;
/** V. Smaller is nothing to hear, and numbers far smaller slow a processor down. */
const NOTHING: f64 = 1e-15;

export class DelayLine extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly back: StaticArray<f64>;
  private readonly pitches: StaticArray<f64>;
  private readonly controls: StaticArray<f64>;
  private readonly out: Wire;
  /** Samples from the input to the output at 0 V, and at most. */
  private readonly base: f64;
  private readonly longest: f64;
  private readonly perVolt: f64;
  private readonly feedback: f64;
  /** tan(pi cutoff/rate) of the low-pass; 0: there is none. */
  private readonly damping: f64;
  private readonly direct: f64;
  private readonly late: f64;

  /** The ring buffer of the input, V, and its length less one; the length is a power of two. */
  private readonly line: StaticArray<f64>;
  private readonly mask: i32;
  /** Where the next sample goes. */
  private at: i32 = 0;
  /** Samples in a row, up to the ring's length, at which 0 V went in. */
  private quiet: i32 = 0;
  /** State of the low-pass, V. */
  private kept: f64 = 0;
  /** Samples between the point that is read and the present; 0 before the first. */
  private delay: f64 = 0;
  /** The distance that `weights` are for. */
  private weighedFor: f64 = 0;
  private readonly weights: StaticArray<f64> = new StaticArray<f64>(TAPS);

  /** Volts that the clock's rate is for; none at first. */
  private pitch: f64 = NaN;
  private control: f64 = NaN;
  /** Whether the clock has been constant since the sound read now went in: then the line is `aim` samples long. */
  private isSteady: bool = true;
  private aim: f64 = 0;
  /** Where it has not been: passages of the whole line that the clock has made by each sample in the line. */
  private readonly passages: StaticArray<f64>;
  private passed: f64 = 0;
  /** Samples since the clock changed; samples back to the one before the point that is read. */
  private since: i32 = 0;
  private lag: i32 = 0;

  constructor(
    input: Wire,
    back: Wire,
    pitch: Wire,
    control: Wire,
    out: Wire,
    base: f64,
    longest: f64,
    moves: bool,
    amount: f64,
    feedback: f64,
    damping: f64,
    mix: f64,
  ) {
    super();
    this.input = input.volts;
    this.back = back.volts;
    this.pitches = pitch.volts;
    this.controls = control.volts;
    this.out = out;
    this.base = base;
    this.longest = longest;
    this.perVolt = amount / WHOLE;
    this.feedback = feedback;
    this.damping = damping > 0 ? integratorGain(damping) : 0;
    this.direct = 1 - mix;
    this.late = mix;
    let length: i32 = 16;
    while (f64(length) < longest + 16) length *= 2;
    this.line = new StaticArray<f64>(length);
    // A clock that never changes needs no history.
    this.passages = new StaticArray<f64>(moves ? length : 1);
    this.mask = length - 1;
    this.reads(input);
    this.reads(back);
    this.reads(pitch);
    this.reads(control);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const back = this.back;
    const pitches = this.pitches;
    const controls = this.controls;
    const out = this.out.volts;
    const weight = this.out.gain;
    const line = this.line;
    const mask = this.mask;
    const weights = this.weights;
    const feedback = this.feedback;
    const share = this.damping / (1 + this.damping);
    const isDamped = this.damping > 0;
    const direct = this.direct;
    const late = this.late;
    let at = this.at;
    let quiet = this.quiet;
    let kept = this.kept;
    for (let i = from; i < to; i++) {
      if (pitches[i] != this.pitch || controls[i] != this.control)
        this.follow(pitches[i], controls[i], at);
      if (!this.isSteady) this.turn(at);
      if (this.delay != this.weighedFor) this.weigh();
      if (back[i] != 0) {
        // What comes back through a cable was sent a sample ago, and is written to its place of that time.
        const before = (at - 1) & mask;
        line[before] = toRails(line[before] + back[i]);
        quiet = 0;
      }
      const newest = at - i32(this.delay) + NEWER;
      let heard =
        weights[0] * line[newest & mask] +
        weights[1] * line[(newest - 1) & mask] +
        weights[2] * line[(newest - 2) & mask] +
        weights[3] * line[(newest - 3) & mask] +
        weights[4] * line[(newest - 4) & mask] +
        weights[5] * line[(newest - 5) & mask] +
        weights[6] * line[(newest - 6) & mask] +
        weights[7] * line[(newest - 7) & mask];
      if (isDamped) {
        const step = share * (heard - kept);
        heard = kept + step;
        kept = heard + step;
      }
      let volts = toRails(input[i] + feedback * heard);
      if (Math.abs(volts) < NOTHING) volts = 0;
      line[at] = volts;
      if (volts != 0) quiet = 0;
      else if (quiet <= mask) quiet += 1;
      out[i] = toRails(direct * input[i] + late * heard) * weight;
      at = (at + 1) & mask;
    }
    this.at = at;
    this.quiet = quiet;
    this.kept = kept;
  }

  rests(samples: i32): bool {
    if (!this.isSteady || this.quiet <= this.mask || this.kept != 0) return false;
    const last = samples - 1;
    return this.input[last] == 0 && this.back[last] == 0 && this.out.volts[last] == 0;
  }

  settle(): void {
    if (Math.abs(this.kept) < NOTHING) this.kept = 0;
  }

  /** Sets the clock by its volts. */
  private follow(pitch: f64, control: f64, at: i32): void {
    this.pitch = pitch;
    this.control = control;
    const part = Math.max(1 + this.perVolt * control, 0);
    const loop = Math.min(Math.max(this.base * exp2(-pitch) * part, SHORTEST), this.longest);
    const aim = Math.max(loop - this.filterDelay(loop), SHORTEST);
    if (this.delay == 0) this.delay = aim;
    else if (aim != this.aim) {
      if (this.isSteady) this.recall(at);
      this.since = 0;
    }
    this.aim = aim;
  }

  /** Samples by which the low-pass delays the pitch of a loop of so many samples. */
  private filterDelay(loop: f64): f64 {
    if (!(this.damping > 0)) return 0;
    const turns = Math.min(1 / loop, HIGHEST_LOOP);
    return atan(integratorGain(turns) / this.damping) / (2 * PI * turns);
  }

  /** Fills in the clock's history while it was constant: as far back as the line is long. */
  private recall(at: i32): void {
    const rate = 1 / this.aim;
    const length = i32(this.aim) + 2;
    for (let back: i32 = 0; back <= length; back++)
      this.passages[(at - 1 - back) & this.mask] = -f64(back) * rate;
    this.passed = 0;
    this.lag = length;
    this.isSteady = false;
  }

  /** Lets the clock go on by a sample, and finds the point that is a whole passage of the line ago. */
  private turn(at: i32): void {
    const passages = this.passages;
    const mask = this.mask;
    this.passed += 1 / this.aim;
    passages[at] = this.passed;
    this.since += 1;
    const then = this.passed - 1;
    let lag = this.lag + 1;
    while (lag > 1 && passages[(at - lag + 1) & mask] <= then) lag -= 1;
    this.lag = lag;
    if (this.since >= lag) {
      this.isSteady = true;
      this.delay = this.aim;
      return;
    }
    const before = passages[(at - lag) & mask];
    const after = passages[(at - lag + 1) & mask];
    this.delay = Math.max(f64(lag) - (then - before) / (after - before), SHORTEST);
  }

  /** Lagrange's weights for the point between two samples: products of the distances to all others. */
  private weigh(): void {
    const delay = this.delay;
    this.weighedFor = delay;
    const x = f64(NEWER) + (delay - Math.floor(delay));
    const weights = this.weights;
    let product: f64 = 1;
    for (let k: i32 = 0; k < TAPS; k++) {
      weights[k] = product;
      product *= (x - f64(k)) / f64(k + 1);
    }
    product = 1;
    for (let k: i32 = TAPS - 1; k >= 0; k--) {
      weights[k] *= product;
      product *= (f64(k) - x) / f64(TAPS - k);
    }
  }
}
