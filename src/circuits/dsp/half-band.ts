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
 * doubling on top of it, where nothing lies near the edge: 96 dB. The widest is for a third: 98 dB.
 *
 * Source: Valenzuela & Constantinides, "Digital signal processing schemes for efficient
 * interpolation and decimation", IEE Proc. G 130 (1983) 225 (from memory): structure and design.
 * Deviation: phase is not linear. There and back a signal comes 3.7 samples late at low
 * frequencies (steep) and later towards 20 kHz, as through any analogue filter that steep.
 */

/** Numbers smaller than this are inaudible, and far smaller ones slow a processor down. */
const NOTHING: f64 = 1e-15;

export class SteepHalfBand {
  private s0: v128 = f64x2.splat(0);
  private s1: v128 = f64x2.splat(0);
  private s2: v128 = f64x2.splat(0);
  private s3: v128 = f64x2.splat(0);
  private s4: v128 = f64x2.splat(0);

  run(x: v128): v128 {
    const c1 = f64x2(0.037365116712056175, 0.1393618247993496);
    const c2 = f64x2(0.2813460114038552, 0.4362618268483417);
    const c3 = f64x2(0.5844611708405284, 0.7170654296993825);
    const c4 = f64x2(0.8345820435003801, 0.9443040688885815);
    const s1 = f64x2.add(f64x2.mul(c1, x), f64x2.sub(this.s0, f64x2.mul(c1, this.s1)));
    const s2 = f64x2.add(f64x2.mul(c2, s1), f64x2.sub(this.s1, f64x2.mul(c2, this.s2)));
    const s3 = f64x2.add(f64x2.mul(c3, s2), f64x2.sub(this.s2, f64x2.mul(c3, this.s3)));
    const s4 = f64x2.add(f64x2.mul(c4, s3), f64x2.sub(this.s3, f64x2.mul(c4, this.s4)));
    this.s0 = x;
    this.s1 = s1;
    this.s2 = s2;
    this.s3 = s3;
    this.s4 = s4;
    return s4;
  }

  settle(): void {
    this.s0 = flushed(this.s0);
    this.s1 = flushed(this.s1);
    this.s2 = flushed(this.s2);
    this.s3 = flushed(this.s3);
    this.s4 = flushed(this.s4);
  }

  /** Whether its state is all 0, so that silence gives silence. */
  get isStill(): bool {
    const first = v128.or(v128.or(this.s0, this.s1), v128.or(this.s2, this.s3));
    return !v128.any_true(v128.or(first, this.s4));
  }
}

/** The wide filter's two chains; used as the steep filter's. */
export class WideHalfBand {
  private s0: v128 = f64x2.splat(0);
  private s1: v128 = f64x2.splat(0);
  private a2: f64 = 0;

  /** Lane 0 has one section more than lane 1. */
  run(x: v128): v128 {
    const c1 = f64x2(0.06637482650008861, 0.2742086047937511);
    const A2: f64 = 0.6751236108971171;
    const before = this.s1;
    const s1 = f64x2.add(f64x2.mul(c1, x), f64x2.sub(this.s0, f64x2.mul(c1, before)));
    const a2 = A2 * f64x2.extract_lane(s1, 0) + (f64x2.extract_lane(before, 0) - A2 * this.a2);
    this.s0 = x;
    this.s1 = s1;
    this.a2 = a2;
    return f64x2.replace_lane(s1, 0, a2);
  }

  settle(): void {
    this.s0 = flushed(this.s0);
    this.s1 = flushed(this.s1);
    this.a2 = Math.abs(this.a2) < NOTHING ? 0 : this.a2;
  }

  /** Whether its state is all 0, so that silence gives silence. */
  get isStill(): bool {
    return this.a2 == 0 && !v128.any_true(v128.or(this.s0, this.s1));
  }
}

/** The widest filter's two chains, of a section each; used as the steep filter's. */
export class WidestHalfBand {
  private s0: v128 = f64x2.splat(0);
  private s1: v128 = f64x2.splat(0);

  run(x: v128): v128 {
    const c1 = f64x2(0.11120975985690679, 0.5384564498142802);
    const s1 = f64x2.add(f64x2.mul(c1, x), f64x2.sub(this.s0, f64x2.mul(c1, this.s1)));
    this.s0 = x;
    this.s1 = s1;
    return s1;
  }

  settle(): void {
    this.s0 = flushed(this.s0);
    this.s1 = flushed(this.s1);
  }

  /** Whether its state is all 0, so that silence gives silence. */
  get isStill(): bool {
    return !v128.any_true(v128.or(this.s0, this.s1));
  }
}

/** As the steep filter, but stops 130 dB: for doubling a signal that is distorted afterwards. */
export class CleanSteepHalfBand {
  private s0: v128 = f64x2.splat(0);
  private s1: v128 = f64x2.splat(0);
  private s2: v128 = f64x2.splat(0);
  private s3: v128 = f64x2.splat(0);
  private s4: v128 = f64x2.splat(0);
  private s5: v128 = f64x2.splat(0);

  run(x: v128): v128 {
    const c1 = f64x2(0.02469032639963724, 0.09426605523338588);
    const c2 = f64x2(0.19697570325265604, 0.3179626422227762);
    const c3 = f64x2(0.4435834461534296, 0.5641515845268678);
    const c4 = f64x2(0.6747282510714446, 0.7745929032420688);
    const c5 = f64x2(0.8662702966371447, 0.9547653170485748);
    const s1 = f64x2.add(f64x2.mul(c1, x), f64x2.sub(this.s0, f64x2.mul(c1, this.s1)));
    const s2 = f64x2.add(f64x2.mul(c2, s1), f64x2.sub(this.s1, f64x2.mul(c2, this.s2)));
    const s3 = f64x2.add(f64x2.mul(c3, s2), f64x2.sub(this.s2, f64x2.mul(c3, this.s3)));
    const s4 = f64x2.add(f64x2.mul(c4, s3), f64x2.sub(this.s3, f64x2.mul(c4, this.s4)));
    const s5 = f64x2.add(f64x2.mul(c5, s4), f64x2.sub(this.s4, f64x2.mul(c5, this.s5)));
    this.s0 = x;
    this.s1 = s1;
    this.s2 = s2;
    this.s3 = s3;
    this.s4 = s4;
    this.s5 = s5;
    return s5;
  }

  settle(): void {
    this.s0 = flushed(this.s0);
    this.s1 = flushed(this.s1);
    this.s2 = flushed(this.s2);
    this.s3 = flushed(this.s3);
    this.s4 = flushed(this.s4);
    this.s5 = flushed(this.s5);
  }

  /** Whether its state is all 0, so that silence gives silence. */
  get isStill(): bool {
    const first = v128.or(v128.or(this.s0, this.s1), v128.or(this.s2, this.s3));
    return !v128.any_true(v128.or(first, v128.or(this.s4, this.s5)));
  }
}

/** As the wide filter, but stops 125 dB: for doubling a signal that is distorted afterwards. */
export class CleanWideHalfBand {
  private s0: v128 = f64x2.splat(0);
  private s1: v128 = f64x2.splat(0);
  private s2: v128 = f64x2.splat(0);

  run(x: v128): v128 {
    const c1 = f64x2(0.040029398175343824, 0.16276072472692182);
    const c2 = f64x2(0.38124956271821137, 0.737696380759489);
    const s1 = f64x2.add(f64x2.mul(c1, x), f64x2.sub(this.s0, f64x2.mul(c1, this.s1)));
    const s2 = f64x2.add(f64x2.mul(c2, s1), f64x2.sub(this.s1, f64x2.mul(c2, this.s2)));
    this.s0 = x;
    this.s1 = s1;
    this.s2 = s2;
    return s2;
  }

  settle(): void {
    this.s0 = flushed(this.s0);
    this.s1 = flushed(this.s1);
    this.s2 = flushed(this.s2);
  }

  /** Whether its state is all 0, so that silence gives silence. */
  get isStill(): bool {
    return !v128.any_true(v128.or(v128.or(this.s0, this.s1), this.s2));
  }
}

function flushed(state: v128): v128 {
  return v128.andnot(state, f64x2.lt(f64x2.abs(state), f64x2.splat(NOTHING)));
}
