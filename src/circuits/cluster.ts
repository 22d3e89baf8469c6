/** Cluster: see src/modules/cluster.ts. */
import { Circuit } from './core/circuit';
import { BLOCK, gainOf, voltsOf, Wire } from './core/wire';
import { Corrections } from './dsp/corrections';
import { exp2 } from './dsp/math';
import { toRails } from './dsp/rails';
import { Random } from './dsp/random';

/** The most oscillators. They run two at once; an unused one stands still and never passes an edge. */
const OSCILLATORS: i32 = 8;
/** Cycles a sample at most. */
const FASTEST: f64 = 0.45;

export class Cluster extends Circuit {
  /** Volts that `steps` are for; none at first. */
  private readonly pitch: StaticArray<f64>;
  private readonly out: Wire | null;
  private readonly low: Wire | null;
  private readonly high: Wire | null;
  private readonly count: i32;
  /** The first so many make `low`, the others `high`. */
  private readonly half: i32;
  /** V of one pulse. */
  private readonly swing: f64;
  private readonly width: f64;
  /** Of each oscillator: cycles a sample at 0 V, and now. */
  private readonly bases: StaticArray<f64> = new StaticArray<f64>(OSCILLATORS);
  private readonly steps: StaticArray<f64> = new StaticArray<f64>(OSCILLATORS);
  /** Phase in cycles, 0 to 1, and where in it the next edge comes: the width, or 1. */
  private readonly phases: StaticArray<f64> = new StaticArray<f64>(OSCILLATORS);
  private readonly edges: StaticArray<f64> = new StaticArray<f64>(OSCILLATORS);
  private readonly lowCorrections: Corrections = new Corrections();
  private readonly highCorrections: Corrections = new Corrections();
  private readonly random: Random;
  private tunedFor: f64 = NaN;
  /** Plain pulses of each half, those high less those low: now, and one to three samples ago (KERNEL_DELAY). */
  private low0: f64 = 0;
  private low1: f64 = 0;
  private low2: f64 = 0;
  private high0: f64 = 0;
  private high1: f64 = 0;
  private high2: f64 = 0;

  constructor(
    pitch: Wire,
    out: Wire | null,
    low: Wire | null,
    high: Wire | null,
    count: i32,
    half: i32,
    swing: f64,
    width: f64,
    a: i32,
    b: i32,
    c: i32,
    d: i32,
  ) {
    super();
    this.pitch = pitch.volts;
    this.out = out;
    this.low = low;
    this.high = high;
    this.count = count;
    this.half = half;
    this.swing = swing;
    this.width = width;
    this.random = new Random(a, b, c, d);
    for (let k: i32 = 0; k < OSCILLATORS; k++) this.edges[k] = 1;
    this.reads(pitch);
    this.drives(out);
    this.drives(low);
    this.drives(high);
  }

  /** Sets an oscillator, to be called for each in turn. */
  tune(k: i32, base: f64): void {
    const phase = this.random.uniform();
    const high = phase < this.width;
    this.bases[k] = base;
    this.phases[k] = phase;
    this.edges[k] = high ? this.width : 1;
    if (k < this.half) this.low0 += high ? 1 : -1;
    else this.high0 += high ? 1 : -1;
    this.low1 = this.low2 = this.low0;
    this.high1 = this.high2 = this.high0;
  }

  process(from: i32, to: i32): void {
    const pitch = this.pitch;
    const out = voltsOf(this.out);
    const lowWire = voltsOf(this.low);
    const highWire = voltsOf(this.high);
    const outGain = gainOf(this.out);
    const lowGain = gainOf(this.low);
    const highGain = gainOf(this.high);
    const phases = changetype<usize>(this.phases);
    const steps = changetype<usize>(this.steps);
    const edges = changetype<usize>(this.edges);
    const swing = this.swing;
    const lows = this.lowCorrections.line;
    const highs = this.highCorrections.line;
    let tunedFor = this.tunedFor;
    let p0 = v128.load(phases);
    let p1 = v128.load(phases, 16);
    let p2 = v128.load(phases, 32);
    let p3 = v128.load(phases, 48);
    let low1 = this.low1;
    let low2 = this.low2;
    let high1 = this.high1;
    let high2 = this.high2;
    for (let i = from; i < to; i++) {
      if (pitch[i] != tunedFor) {
        tunedFor = pitch[i];
        this.retune(tunedFor);
      }
      const low3 = low2;
      low2 = low1;
      low1 = this.low0;
      const high3 = high2;
      high2 = high1;
      high1 = this.high0;
      p0 = f64x2.add(p0, v128.load(steps));
      p1 = f64x2.add(p1, v128.load(steps, 16));
      p2 = f64x2.add(p2, v128.load(steps, 32));
      p3 = f64x2.add(p3, v128.load(steps, 48));
      const past0 = f64x2.ge(p0, v128.load(edges));
      const past1 = f64x2.ge(p1, v128.load(edges, 16));
      const past2 = f64x2.ge(p2, v128.load(edges, 32));
      const past3 = f64x2.ge(p3, v128.load(edges, 48));
      if (v128.any_true(v128.or(v128.or(past0, past1), v128.or(past2, past3)))) {
        v128.store(phases, p0);
        v128.store(phases, p1, 16);
        v128.store(phases, p2, 32);
        v128.store(phases, p3, 48);
        let past =
          i64x2.bitmask(past0) |
          (i64x2.bitmask(past1) << 2) |
          (i64x2.bitmask(past2) << 4) |
          (i64x2.bitmask(past3) << 6);
        while (past != 0) {
          this.pass(ctz(past), i);
          past &= past - 1;
        }
        p0 = v128.load(phases);
        p1 = v128.load(phases, 16);
        p2 = v128.load(phases, 32);
        p3 = v128.load(phases, 48);
      }
      const low = swing * low3 + lows[i];
      const high = swing * high3 + highs[i];
      if (lowGain != 0) lowWire[i] = low * lowGain;
      if (highGain != 0) highWire[i] = high * highGain;
      if (outGain != 0) out[i] = toRails(low + high) * outGain;
    }
    v128.store(phases, p0);
    v128.store(phases, p1, 16);
    v128.store(phases, p2, 32);
    v128.store(phases, p3, 48);
    this.low1 = low1;
    this.low2 = low2;
    this.high1 = high1;
    this.high2 = high2;
    if (to == BLOCK) {
      this.lowCorrections.turn();
      this.highCorrections.turn();
    }
  }

  private retune(pitch: f64): void {
    this.tunedFor = pitch;
    const scale = exp2(pitch);
    for (let k: i32 = 0; k < this.count; k++)
      this.steps[k] = Math.min(this.bases[k] * scale, FASTEST);
  }

  /** Corrects the edges that an oscillator passed since the last sample: one or two. */
  private pass(k: i32, at: i32): void {
    const width = this.width;
    const step = this.steps[k];
    let phase = this.phases[k];
    let edge = this.edges[k];
    while (phase >= edge) {
      const rises = edge == 1;
      if (rises) phase -= 1;
      const sign: f64 = rises ? 1 : -1;
      const since = (rises ? phase : phase - edge) / step;
      edge = rises ? width : 1;
      if (k < this.half) {
        this.low0 += 2 * sign;
        this.lowCorrections.addStep(at, 2 * this.swing * sign, since);
      } else {
        this.high0 += 2 * sign;
        this.highCorrections.addStep(at, 2 * this.swing * sign, since);
      }
    }
    this.phases[k] = phase;
    this.edges[k] = edge;
  }
}

export function clusterTune(cluster: Cluster, oscillator: i32, base: f64): void {
  cluster.tune(oscillator, base);
}
