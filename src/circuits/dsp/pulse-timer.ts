/** The timer behind an output that gives pulses of a set length. */
export class PulseTimer {
  /** Whether the pulse is on at this very sample. */
  on: bool = false;
  private left: i32 = 0;

  /** Lets one sample go by. */
  run(): void {
    if (!this.on) return;
    this.left -= 1;
    if (this.left == 0) this.on = false;
  }

  /**
   * Starts a pulse at this very sample; one that is still on goes on without a gap.
   * @param samples how long it lasts, from 1 on.
   */
  start(samples: i32): void {
    this.on = true;
    this.left = samples;
  }

  /** Whether it stays on, or off, for so many samples more. */
  rests(samples: i32): bool {
    return !this.on || this.left > samples;
  }

  /** Skips samples for which it rests. */
  skip(samples: i32): void {
    if (this.on) this.left -= samples;
  }
}
