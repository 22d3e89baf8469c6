/** Low-pass gate: a photocell shuts sound off. Theory and sources: src/modules/low-pass-gate.ts. */

import { Circuit } from './core/circuit';
import { Wire } from './core/wire';
import { integratorGain } from './dsp/matched';
import { exp } from './dsp/math';
import { toRails } from './dsp/rails';

/** Highest cutoff in use, as a fraction of the sample rate. */
const HIGHEST_CUTOFF: f64 = 0.45;
/** The most light; the light of `unity` is 1. */
const MOST_LIGHT: f64 = 2;
/** The conductance of a dark cell, as far as the low-pass is concerned. */
const DARK: f64 = 1e-4;
/** A cell of lower conductance counts as dark: -160 dB. */
const SHUT: f64 = 1e-8;
/** V. Smaller states are inaudible, and far smaller numbers slow a processor down. */
const NOTHING: f64 = 1e-15;

export class LowPassGate extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly controls: StaticArray<f64>;
  private readonly out: Wire;
  /** Whether the cell is in the low-pass, and in the level. */
  private readonly filters: bool;
  private readonly levels: bool;
  private readonly perVolt: f64;
  /** Half the rate of recombination by centres (b/2): the cell's law is that of `lit + half`. */
  private readonly half: f64;
  /** One sample in the cell's time constants, up and down. */
  private readonly up: f64;
  private readonly down: f64;
  /** Cutoff in cycles a sample with the cell at 1, and 1/q. */
  private readonly cutoff: f64;
  private readonly damping: f64;

  /** Volts that the next four are for; none at first. */
  private control: f64 = NaN;
  private light: f64 = 0;
  /** Where `lit + half` goes, and how far it goes in a sample, up and down. */
  private aim: f64 = 0;
  private rise: f64 = 0;
  private fall: f64 = 0;
  /** The cell's conductance, as a share of that with steady `unity`. */
  private lit: f64 = 0;
  private isStill: bool = false;
  /** The integrators' outputs, V. */
  private s1: f64 = 0;
  private s2: f64 = 0;

  constructor(
    input: Wire,
    control: Wire,
    out: Wire,
    filters: bool,
    levels: bool,
    unity: f64,
    proportional: f64,
    up: f64,
    down: f64,
    cutoff: f64,
    q: f64,
  ) {
    super();
    this.input = input.volts;
    this.controls = control.volts;
    this.out = out;
    this.filters = filters;
    this.levels = levels;
    this.perVolt = 1 / unity;
    this.half = proportional / 2;
    this.up = up;
    this.down = down;
    this.cutoff = cutoff;
    this.damping = 1 / q;
    this.reads(input);
    this.reads(control);
    this.drives(out);
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const controls = this.controls;
    const out = this.out.volts;
    const weight = this.out.gain;
    const filters = this.filters;
    const levels = this.levels;
    const half = this.half;
    const cutoff = this.cutoff;
    const damping = this.damping;
    let lit = this.lit;
    let isStill = this.isStill;
    let s1 = this.s1;
    let s2 = this.s2;
    for (let i = from; i < to; i++) {
      if (controls[i] != this.control) this.shine(controls[i]);
      const way = lit + half < this.aim ? this.rise : this.fall;
      const next = (lit * (1 - half * way) + this.light * way) / (1 + (lit + half) * way);
      isStill = next == lit;
      lit = next;
      // A cell in the dark lets nothing through, so it may be skipped.
      if (levels && lit == 0) {
        s1 = 0;
        s2 = 0;
        out[i] = 0;
        continue;
      }
      let volts = input[i];
      if (filters) {
        const turns = cutoff * Math.max(lit, DARK);
        const gain = integratorGain(turns < HIGHEST_CUTOFF ? turns : HIGHEST_CUTOFF);
        const twice = 2 / (1 + gain * (gain + damping));
        const next2 = (1 - twice * gain * gain) * s2 + twice * gain * (gain * volts + s1);
        s1 = (twice - 1) * s1 + twice * gain * (volts - s2);
        volts = 0.5 * (s2 + next2);
        s2 = next2;
      }
      if (levels) volts *= lit;
      out[i] = toRails(volts) * weight;
    }
    this.lit = lit;
    this.isStill = isStill;
    this.s1 = s1;
    this.s2 = s2;
  }

  rests(samples: i32): bool {
    if (!this.isStill) return false;
    if (this.isShut || !this.filters) return true;
    const last = samples - 1;
    return this.s1 == 0 && this.s2 == 0 && this.input[last] == 0 && this.out.volts[last] == 0;
  }

  shuts(samples: i32): bool {
    return (
      this.isShut &&
      !this.inputs[1].moving &&
      this.controls[samples - 1] <= 0 &&
      this.out.volts[samples - 1] == 0
    );
  }

  settle(): void {
    if (this.lit < SHUT && this.lit != 0) {
      this.lit = 0;
      this.isStill = false;
    }
    if (Math.abs(this.s1) < NOTHING) this.s1 = 0;
    if (Math.abs(this.s2) < NOTHING) this.s2 = 0;
  }

  private get isShut(): bool {
    return this.levels && this.lit == 0 && this.light == 0;
  }

  /** Sets the light by its volts. */
  private shine(control: f64): void {
    this.control = control;
    const half = this.half;
    this.light = Math.min(Math.max(control * this.perVolt, 0), MOST_LIGHT) * (1 + 2 * half);
    const aim = Math.sqrt(this.light + half * half);
    this.aim = aim;
    this.rise = tanh(aim * this.up) / aim;
    this.fall = tanh(aim * this.down) / aim;
  }
}

/** Hyperbolic tangent of a number from 0 on. */
function tanh(x: f64): f64 {
  if (x < 0.03) {
    const x2 = x * x;
    return x * (1 - x2 * (1.0 / 3 - x2 * (2.0 / 15 - x2 * (17.0 / 315))));
  }
  const left = exp(-2 * x);
  return (1 - left) / (1 + left);
}
