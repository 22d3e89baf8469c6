/** Fixed filter bank: band-passes side by side, each with its own level. Equations: src/modules/fixed-bank.ts. */

import { Circuit } from './core/circuit';
import { BLOCK, Wire } from './core/wire';
import { Matched } from './dsp/matched';
import { gainOfDb } from './dsp/math';
import { toRails } from './dsp/rails';

/** Smaller is inaudible, and far smaller numbers slow a processor down. */
const NOTHING: f64 = 1e-15;
const MOST_BANDS: i32 = 26;
/**
 * The numbers of two bands, side by side in memory: six pairs, b0, b1, a1, a2 and the outputs one and two
 * samples ago, of y = b0 (x - x1) + b1 (x1 - x2) - a1 y1 - a2 y2.
 */
const PLACES: i32 = 12;
const B0: i32 = 0;
const B1: i32 = 2;
const A1: i32 = 4;
const A2: i32 = 6;
const Y1: i32 = 8;
const Y2: i32 = 10;

export class FixedBank extends Circuit {
  private readonly input: StaticArray<f64>;
  private readonly out: Wire;
  private readonly pairs: StaticArray<f64> = new StaticArray<f64>((PLACES * MOST_BANDS) / 2);
  private bands: i32 = 0;
  /** The input one and two samples ago. */
  private x1: f64 = 0;
  private x2: f64 = 0;

  constructor(input: Wire, out: Wire) {
    super();
    this.input = input.volts;
    this.out = out;
    this.reads(input);
    this.drives(out);
  }

  /** Adds a band that is on, to be called for each: its gain, and its midband as a share of the sample rate. */
  plug(level: f64, midband: f64, q: f64): void {
    const section = new Matched(q);
    section.tune(midband);
    const square = section.gain * section.gain;
    const loss = section.damping * section.gain;
    const scale = 1 / (1 + loss + square);
    const even = section.band1 * section.gain * level * scale;
    const odd = section.band2 * section.gain * level * scale;
    const at = PLACES * (this.bands >> 1) + (this.bands & 1);
    this.pairs[at + B0] = even + odd;
    this.pairs[at + B1] = even - odd;
    this.pairs[at + A1] = 2 * (square - 1) * scale;
    this.pairs[at + A2] = (1 - loss + square) * scale;
    this.bands += 1;
  }

  process(from: i32, to: i32): void {
    const input = this.input;
    const out = this.out.volts;
    const weight = this.out.gain;
    const first = changetype<usize>(this.pairs);
    const end = first + ((<usize>(PLACES * ((this.bands + 1) >> 1))) << 3);
    let x1 = this.x1;
    let x2 = this.x2;
    for (let i = from; i < to; i++) {
      const x = input[i];
      const rise = f64x2.splat(x - x1);
      const before = f64x2.splat(x1 - x2);
      x2 = x1;
      x1 = x;
      let sum = f64x2.splat(0);
      for (let at = first; at < end; at += PLACES << 3) {
        const y1 = v128.load(at, Y1 << 3);
        const driven = f64x2.add(
          f64x2.mul(v128.load(at, B0 << 3), rise),
          f64x2.mul(v128.load(at, B1 << 3), before),
        );
        // The last product is the one that waits for the last sample.
        const known = f64x2.sub(driven, f64x2.mul(v128.load(at, A2 << 3), v128.load(at, Y2 << 3)));
        const y = f64x2.sub(known, f64x2.mul(v128.load(at, A1 << 3), y1));
        v128.store(at, y1, Y2 << 3);
        v128.store(at, y, Y1 << 3);
        sum = f64x2.add(sum, y);
      }
      out[i] = toRails(f64x2.extract_lane(sum, 0) + f64x2.extract_lane(sum, 1)) * weight;
    }
    this.x1 = x1;
    this.x2 = x2;
  }

  rests(_samples: i32): bool {
    if (this.x1 != this.x2 || this.out.volts[BLOCK - 1] != 0) return false;
    const pairs = this.pairs;
    for (let at: i32 = 0; at < pairs.length; at += PLACES)
      for (let k = Y1; k < PLACES; k++) if (pairs[at + k] != 0) return false;
    return true;
  }

  settle(): void {
    const pairs = this.pairs;
    for (let at: i32 = 0; at < pairs.length; at += PLACES)
      for (let k = Y1; k < PLACES; k++) if (Math.abs(pairs[at + k]) < NOTHING) pairs[at + k] = 0;
  }
}

/** @param level dB. `midband`: as a share of the sample rate. */
export function fixedBankBand(bank: FixedBank, level: f64, midband: f64, q: f64): void {
  bank.plug(gainOfDb(level), midband, q);
}
