/** The timer behind an output that gives pulses of a set length. */

export class PulseTimer {
  /** Whether the pulse is on at this very sample. */
  on = false;
  private left = 0;

  /** Lets one sample go by. */
  run(): void {
    if (!this.on) return;
    this.left -= 1;
    if (this.left === 0) this.on = false;
  }

  /**
   * Starts a pulse at this very sample; one that is still on goes on without a gap.
   * @param samples how long it lasts, a whole number from 1 on.
   */
  start(samples: number): void {
    this.on = true;
    this.left = samples;
  }
}

/** Gives a pulse's length in whole samples, one at least. */
export function pulseSamples(seconds: number, sampleRate: number): number {
  return Math.max(1, Math.round(seconds * sampleRate));
}
