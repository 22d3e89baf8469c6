/**
 * The loop of a ladder filter: four one-pole low-passes in a row, the last one fed back.
 *
 *   dy1/dt = w (u - y1), dy2/dt = w (y1 - y2), ...   w = 2 pi cutoff
 *   u = in - k f(y4), f the soft clip of dsp/soft-clip.ts
 *
 * Small signals see 1/((1 + s)^4 + k), s = j f/cutoff: 24 dB an octave, a gain of 1/(4 - k) at the
 * cutoff and, from k = 4 on, an oscillation there. The clip alone sets its size: a sine of peak a
 * comes back smaller by 1 - a^2/9, and the loop settles where k (1 - a^2/9) = 4. As the clip shifts
 * no phase, the frequency stays the cutoff at every size.
 *
 * Each one-pole follows the trapezoidal rule, prewarped, and nothing delays the feedback: with G the
 * share of a step that a one-pole passes at once, y4 = open - k G^4 f(y4), where open is what y4
 * would be without feedback. The straight part of that is solved exactly; how much the clip takes
 * away is read off at the straight solution. That bends the clip by at most k G^4 of itself (1 % at
 * a cutoff of 8 kHz, 20 % at the highest) and keeps it free of phase.
 *
 * With the cutoff at most 0.225 of the loop's rate G < 1/2, so each state is a mean of earlier states
 * and of u, which is bounded: nothing can grow, however fast the cutoff moves.
 *
 * Source: bilinear transform with prewarping: Oppenheim & Schafer, Discrete-Time Signal Processing,
 * 3rd ed., 7.2.2 (from memory); k = 4 from (1 + j)^4 = -4. The structure is common practice, no source.
 */

import { clipped } from './soft-clip.ts';

/** Highest cutoff, as a share of the loop's own rate. */
export const HIGHEST_LADDER_CUTOFF = 0.225;

/** Smaller is nothing to hear, and numbers far smaller slow a processor down. */
const NOTHING = 1e-15;

export class LadderLoop {
  /** In units of the clip's limit, as is the input. */
  out = 0;

  private feedback = 0;
  private s1 = 0;
  private s2 = 0;
  private s3 = 0;
  private s4 = 0;
  /** G, and what the input and the states have in `open`. */
  private pass = 0;
  private fromInput = 0;
  private from1 = 0;
  private from2 = 0;
  private from3 = 0;
  private from4 = 1;
  /** What u moves each state by: 2 G, 2 G^2, 2 G^3, 2 G^4. */
  private into1 = 0;
  private into2 = 0;
  private into3 = 0;
  private into4 = 0;
  /** y4 over `open` where the clip is straight: 1/(1 + k G^4). */
  private straight = 1;

  /**
   * Sets the cutoff and the feedback.
   * @param gain tan(pi cutoff/rate).
   * @param feedback k.
   */
  tune(gain: number, feedback: number): void {
    const pass = gain / (1 + gain);
    this.pass = pass;
    this.feedback = feedback;
    this.from4 = 1 - pass;
    this.from3 = this.from4 * pass;
    this.from2 = this.from3 * pass;
    this.from1 = this.from2 * pass;
    this.fromInput = pass * pass * (pass * pass);
    this.into1 = 2 * pass;
    this.into2 = this.into1 * pass;
    this.into3 = this.into2 * pass;
    this.into4 = this.into3 * pass;
    this.straight = 1 / (1 + feedback * this.fromInput);
  }

  /** Leaves something in the loop for an oscillation to grow from. */
  start(size: number): void {
    this.s4 = size;
  }

  run(input: number): void {
    const pass = this.pass;
    const s1 = this.s1;
    const s2 = this.s2;
    const s3 = this.s3;
    const s4 = this.s4;
    const open =
      this.fromInput * input +
      (this.from1 * s1 + this.from2 * s2) +
      (this.from3 * s3 + this.from4 * s4);
    const straight = this.straight * open;
    // u = in - k f(y4), solved: the clip hands back a part of what the straight loop would feed back.
    const u = input - this.feedback * (straight - this.straight * clipped(straight));

    // What the four would move by with u = 0, worked out while u is on its way.
    const d1 = -pass * s1;
    const d2 = pass * (s1 - s2 + d1);
    const d3 = pass * (s2 - s3 + d2);
    const d4 = pass * (s3 - s4 + d3);
    this.s1 = s1 + 2 * d1 + this.into1 * u;
    this.s2 = s2 + 2 * d2 + this.into2 * u;
    this.s3 = s3 + 2 * d3 + this.into3 * u;
    this.s4 = s4 + 2 * d4 + this.into4 * u;
    this.out = s4 + d4 + this.fromInput * u;
  }

  /** Flushes what is too small to matter. */
  settle(): void {
    if (Math.abs(this.s1) < NOTHING) this.s1 = 0;
    if (Math.abs(this.s2) < NOTHING) this.s2 = 0;
    if (Math.abs(this.s3) < NOTHING) this.s3 = 0;
    if (Math.abs(this.s4) < NOTHING) this.s4 = 0;
  }
}
