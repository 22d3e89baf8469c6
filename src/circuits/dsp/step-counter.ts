/**
 * Which step a step sequencer is on, from its clocks and resets.
 *
 *   clock            the next step; the last is followed by the first
 *   reset, armed     the next clock lands on the first step
 *   reset, at once   the first step at once
 *
 * Either way it starts armed, so the first clock of a performance lands on the first step.
 *
 * A clock and a reset close together are taken in the order in which they arrive: after a reset a
 * clock lands on the first step (armed) or the second (at once), before it on whichever step is due.
 * At the same sample the clock counts as the one the reset waits for, and lands on the first step. A
 * circuit has no such rule: which comes first within its settling time is luck.
 */
export class StepCounter {
  /** The step it is on, from 0; before the first clock, 0. */
  step: f64 = 0;
  /** How many, from 1 on; whole, and perhaps more than an i32 can be. */
  private readonly steps: f64;
  private readonly atOnce: bool;
  private armed: bool = true;

  constructor(steps: f64, atOnce: bool) {
    this.steps = steps;
    this.atOnce = atOnce;
  }

  /**
   * Takes the edges of one sample, one of them at least.
   * @returns whether this is the start of a step, which may be the same one again.
   */
  take(clock: bool, reset: bool): bool {
    if (clock) {
      const first = reset || this.armed || this.step === this.steps - 1;
      this.step = first ? 0 : this.step + 1;
      this.armed = false;
      return true;
    }
    if (this.atOnce) this.step = 0;
    else this.armed = true;
    return this.atOnce;
  }
}
