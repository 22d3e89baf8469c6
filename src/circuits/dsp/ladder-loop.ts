/**
 * The loop of a ladder filter: four one-pole low-passes in a row, the last one fed back.
 *
 *   dy1/dt = w (u - y1), dy2/dt = w (y1 - y2), ...   w = 2 pi cutoff
 *   u = in - k f(y4), f the soft clip x - 4 x^3/27 that is flat at 1 from |x| = 1.5 on
 *
 * Small signals see 1/((1 + s)^4 + k), s = j f/cutoff: 24 dB an octave, a gain of 1/(4 - k) at the
 * cutoff and, from k = 4 on, an oscillation there. The clip alone sets its size: a sine of peak a
 * comes back smaller by 1 - a^2/9, and the loop settles where k (1 - a^2/9) = 4. As the clip shifts
 * no phase, the frequency stays the cutoff at every size.
 *
 * Each one-pole follows the trapezoidal rule, prewarped, and nothing delays the feedback: with G the
 * share of a step that a one-pole passes at once, y4 = open - k G^4 f(y4), where open is what y4
 * would be without feedback. The straight part of that is solved exactly, y4 = c open with
 * c = 1/(1 + k G^4); how much the clip takes away is read off at the straight solution. That bends
 * the clip by at most k G^4 of itself (1 % at a cutoff of 8 kHz, 20 % at the highest) and keeps it free
 * of phase.
 *
 * With the cutoff at most 0.225 of the loop's rate G < 1/2, so each state is a mean of earlier states
 * and of u, which is bounded: nothing can grow, however fast the cutoff moves.
 *
 * As matrices over the four states s, with e = f M and F = f . b:
 *
 *   open = G^4 in + f . s      y4 = f . s + G^4 u
 *   next s = M s + b u         next f . s = e . s + F u
 *
 * The last line makes the way from one `open` to the next short: it need not wait for the states.
 *
 * Source: bilinear transform with prewarping: Oppenheim & Schafer, Discrete-Time Signal Processing,
 * 3rd ed., 7.2.2 (from memory); k = 4 from (1 + j)^4 = -4. The structure is common practice, no source.
 */

/** Highest cutoff, as a share of the loop's own rate. */
export const HIGHEST_LADDER_CUTOFF: f64 = 0.225;

/** Smaller is inaudible, and far smaller numbers slow a processor down. */
const NOTHING: f64 = 1e-15;
/** The clip: the factor of its cube, and where it is flat. */
const CUBE: f64 = 4.0 / 27;
const FLAT: f64 = 1.5;

export class LadderLoop {
  /** The states, and their share in y4. */
  private s12: v128 = f64x2.splat(0);
  private s34: v128 = f64x2.splat(0);
  private known: f64 = 0;

  /** f, e and b by state. */
  private f12: v128 = f64x2.splat(0);
  private f34: v128 = f64x2.splat(0);
  private e12: v128 = f64x2.splat(0);
  private e34: v128 = f64x2.splat(0);
  private b12: v128 = f64x2.splat(0);
  private b34: v128 = f64x2.splat(0);
  /** M: its diagonal, and what the first, second and third state add to those after them. */
  private keep: f64 = 0;
  private next: f64 = 0;
  private second: f64 = 0;
  private third: f64 = 0;
  /** G^4, F, k c, k c over the cube, c, and the `open` from which on the clip is flat. */
  private through: f64 = 0;
  private ahead: f64 = 0;
  private back: f64 = 0;
  private bend: f64 = 0;
  private straight: f64 = 1;
  private flat: f64 = FLAT;

  /**
   * Sets the cutoff and the feedback.
   * @param gain tan(pi cutoff/rate).
   * @param feedback k.
   */
  tune(gain: f64, feedback: f64): void {
    const g = gain / (1 + gain);
    const left = 1 - g;
    const keep = 1 - 2 * g;
    const next = 2 * g * left;
    const second = next * g;
    const third = second * g;
    this.keep = keep;
    this.next = next;
    this.second = second;
    this.third = third;
    const f4 = left;
    const f3 = f4 * g;
    const f2 = f3 * g;
    const f1 = f2 * g;
    this.f12 = f64x2.replace_lane(f64x2.splat(f1), 1, f2);
    this.f34 = f64x2.replace_lane(f64x2.splat(f3), 1, f4);
    const e1 = f1 * keep + f2 * next + f3 * second + f4 * third;
    const e2 = f2 * keep + f3 * next + f4 * second;
    const e3 = f3 * keep + f4 * next;
    const e4 = f4 * keep;
    this.e12 = f64x2.replace_lane(f64x2.splat(e1), 1, e2);
    this.e34 = f64x2.replace_lane(f64x2.splat(e3), 1, e4);
    const b1 = 2 * g;
    const b2 = b1 * g;
    const b3 = b2 * g;
    const b4 = b3 * g;
    this.b12 = f64x2.replace_lane(f64x2.splat(b1), 1, b2);
    this.b34 = f64x2.replace_lane(f64x2.splat(b3), 1, b4);
    const through = g * g * (g * g);
    const c = 1 / (1 + feedback * through);
    this.through = through;
    this.ahead = f1 * b1 + f2 * b2 + (f3 * b3 + f4 * b4);
    this.back = feedback * c;
    this.bend = feedback * c * CUBE * (c * c * c);
    this.straight = c;
    this.flat = FLAT / c;
    this.know();
  }

  /**
   * Sets the loop to the state that it has after a long time of oscillation, at the moment its output
   * rises through 0; to be called before `tune`. At the cutoff the input of each one-pole is 1 + j times
   * its output, and a state is 1 - j gain times its output, by the trapezoidal rule.
   * @param gain as for `tune`.
   * @param feedback k, over 4.
   */
  sing(gain: f64, feedback: f64): void {
    const peak = 3 * Math.sqrt(1 - 4 / feedback);
    const s4 = -peak * gain;
    const s3 = peak + s4;
    const real3 = peak - s4;
    const s2 = real3 + s3;
    const s1 = real3 - s3 + s2;
    this.s12 = f64x2.replace_lane(f64x2.splat(s1), 1, s2);
    this.s34 = f64x2.replace_lane(f64x2.splat(s3), 1, s4);
  }

  /** Filters `line` in place, from `from` up to `to`, in units of the clip's limit. */
  run(line: StaticArray<f64>, from: i32, to: i32): void {
    const e12 = this.e12;
    const e34 = this.e34;
    const b12 = this.b12;
    const b34 = this.b34;
    const keep = f64x2.splat(this.keep);
    const next = this.next;
    const second = this.second;
    const third = this.third;
    // What the first, second and third state add to the two pairs.
    const from1to12 = f64x2.replace_lane(f64x2.splat(0), 1, next);
    const from1to34 = f64x2.replace_lane(f64x2.splat(second), 1, third);
    const from2to34 = f64x2.replace_lane(f64x2.splat(next), 1, second);
    const from3to34 = from1to12;
    const through = this.through;
    const ahead = this.ahead;
    const back = this.back;
    const bend = this.bend;
    const straight = this.straight;
    const flat = this.flat;
    let s12 = this.s12;
    let s34 = this.s34;
    let known = this.known;
    for (let i = from; i < to; i++) {
      const input = line[i];
      const open = through * input + known;
      const base = input - back * open;
      // The amount that the clip takes from the feedback of the straight loop.
      const bent =
        Math.abs(open) <= flat
          ? bend * open * (open * open)
          : back * (straight * open - (open > 0 ? 1.0 : -1.0));
      const u = base + bent;
      line[i] = known + through * u;
      const sum = f64x2.add(f64x2.mul(e12, s12), f64x2.mul(e34, s34));
      const coming = f64x2.extract_lane(sum, 0) + f64x2.extract_lane(sum, 1);
      known = coming + ahead * base + ahead * bent;
      const both = f64x2.splat(u);
      const s1 = v128.shuffle<f64>(s12, s12, 0, 0);
      const s2 = v128.shuffle<f64>(s12, s12, 1, 1);
      const s3 = v128.shuffle<f64>(s34, s34, 0, 0);
      const kept12 = f64x2.add(f64x2.mul(keep, s12), f64x2.mul(from1to12, s1));
      const kept34 = f64x2.add(
        f64x2.add(f64x2.mul(keep, s34), f64x2.mul(from1to34, s1)),
        f64x2.add(f64x2.mul(from2to34, s2), f64x2.mul(from3to34, s3)),
      );
      s12 = f64x2.add(kept12, f64x2.mul(b12, both));
      s34 = f64x2.add(kept34, f64x2.mul(b34, both));
    }
    this.s12 = s12;
    this.s34 = s34;
    this.known = known;
  }

  /** Whether its state is all 0. */
  get isStill(): bool {
    return this.known == 0 && !v128.any_true(v128.or(this.s12, this.s34));
  }

  /** Flushes numbers too small to matter. */
  settle(): void {
    const nothing = f64x2.splat(NOTHING);
    this.s12 = v128.andnot(this.s12, f64x2.lt(f64x2.abs(this.s12), nothing));
    this.s34 = v128.andnot(this.s34, f64x2.lt(f64x2.abs(this.s34), nothing));
    if (Math.abs(this.known) < NOTHING) this.known = 0;
  }

  private know(): void {
    const sum = f64x2.add(f64x2.mul(this.f12, this.s12), f64x2.mul(this.f34, this.s34));
    this.known = f64x2.extract_lane(sum, 0) + f64x2.extract_lane(sum, 1);
  }
}
