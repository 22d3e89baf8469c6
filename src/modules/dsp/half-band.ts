/**
 * Oversampling by two: between a signal at one rate and the same signal at twice that rate.
 *
 *   H(z) = (A0(z^2) + z^-1 A1(z^2)) / 2
 *
 * H is an elliptic half-band low-pass whose halves A0 and A1 are chains of all-pass sections
 * (c + z^-1)/(1 + c z^-1), worked out at the lower rate. Doubling and then halving passes every
 * frequency with a gain of 1, since what remains is A0 A1, an all-pass: no band edge is dulled.
 *
 * The steep filter stops 104 dB from 24.1 kHz on and is flat to 20 kHz where the lower rate is
 * 44.1 kHz; what lies between the two folds into that inaudible gap. The wide one is for a second
 * doubling on top of it, where nothing lies near the edge: 96 dB.
 *
 * Source: Valenzuela & Constantinides, "Digital signal processing schemes for efficient
 * interpolation and decimation", IEE Proc. G 130 (1983) 225 (from memory): structure and design.
 * Deviation: phase is not linear. There and back a signal comes 3.7 samples late at low
 * frequencies (steep) and later towards 20 kHz, as through any analogue filter that steep.
 */

/** Numbers smaller than this are nothing to hear, and far smaller ones slow a processor down. */
const NOTHING = 1e-15;

/** Sections of A0 and A1: edges at 20/88.2 and 24.1/88.2 of the higher rate. */
const A1 = 0.037365116712056175;
const B1 = 0.1393618247993496;
const A2 = 0.2813460114038552;
const B2 = 0.4362618268483417;
const A3 = 0.5844611708405284;
const B3 = 0.7170654296993825;
const A4 = 0.8345820435003801;
const B4 = 0.9443040688885815;

/** The same for the wide filter: edges at 20/176.4 and 68.2/176.4. */
const WIDE_A1 = 0.06637482650008861;
const WIDE_B1 = 0.2742086047937511;
const WIDE_A2 = 0.6751236108971171;

/**
 * The steep filter's two chains. They take what stands in `even` and `odd` and leave their outputs
 * there: numbers passed to a call that V8 does not inline would be boxed. A sample x in both becomes
 * two: `even` and then `odd`. The second of two samples in `even` and the first in `odd` become one:
 * half the sum of both.
 */
export class SteepHalfBand {
  even = 0;
  odd = 0;

  // Inputs of the sections one sample ago, each but the first being the output before it.
  private a0 = 0;
  private a1 = 0;
  private a2 = 0;
  private a3 = 0;
  private a4 = 0;
  private b0 = 0;
  private b1 = 0;
  private b2 = 0;
  private b3 = 0;
  private b4 = 0;

  run(): void {
    const { even, odd } = this;
    // What is known before the input comes stands in brackets: each section then waits for a product
    // and a sum.
    const a1 = A1 * even + (this.a0 - A1 * this.a1);
    const b1 = B1 * odd + (this.b0 - B1 * this.b1);
    const a2 = A2 * a1 + (this.a1 - A2 * this.a2);
    const b2 = B2 * b1 + (this.b1 - B2 * this.b2);
    const a3 = A3 * a2 + (this.a2 - A3 * this.a3);
    const b3 = B3 * b2 + (this.b2 - B3 * this.b3);
    const a4 = A4 * a3 + (this.a3 - A4 * this.a4);
    const b4 = B4 * b3 + (this.b3 - B4 * this.b4);
    this.a0 = even;
    this.a1 = a1;
    this.a2 = a2;
    this.a3 = a3;
    this.a4 = a4;
    this.b0 = odd;
    this.b1 = b1;
    this.b2 = b2;
    this.b3 = b3;
    this.b4 = b4;
    this.even = a4;
    this.odd = b4;
  }

  /** Flushes what is too small to matter. */
  settle(): void {
    this.a0 = flushed(this.a0);
    this.a1 = flushed(this.a1);
    this.a2 = flushed(this.a2);
    this.a3 = flushed(this.a3);
    this.a4 = flushed(this.a4);
    this.b0 = flushed(this.b0);
    this.b1 = flushed(this.b1);
    this.b2 = flushed(this.b2);
    this.b3 = flushed(this.b3);
    this.b4 = flushed(this.b4);
  }
}

/** The wide filter's two chains; used as the steep filter's. */
export class WideHalfBand {
  even = 0;
  odd = 0;

  private a0 = 0;
  private a1 = 0;
  private a2 = 0;
  private b0 = 0;
  private b1 = 0;

  run(): void {
    const { even, odd } = this;
    const a1 = WIDE_A1 * even + (this.a0 - WIDE_A1 * this.a1);
    const b1 = WIDE_B1 * odd + (this.b0 - WIDE_B1 * this.b1);
    const a2 = WIDE_A2 * a1 + (this.a1 - WIDE_A2 * this.a2);
    this.a0 = even;
    this.a1 = a1;
    this.a2 = a2;
    this.b0 = odd;
    this.b1 = b1;
    this.even = a2;
    this.odd = b1;
  }

  /** Flushes what is too small to matter. */
  settle(): void {
    this.a0 = flushed(this.a0);
    this.a1 = flushed(this.a1);
    this.a2 = flushed(this.a2);
    this.b0 = flushed(this.b0);
    this.b1 = flushed(this.b1);
  }
}

function flushed(state: number): number {
  return Math.abs(state) < NOTHING ? 0 : state;
}
