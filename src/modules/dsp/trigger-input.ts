/**
 * The comparator behind a trigger jack: a threshold with hysteresis, and a shortest pulse.
 *
 * A causal input cannot know how long a pulse will last, so one that ignores pulses shorter than
 * `shortest` answers that much late. The check and the score of time print this delay.
 */

import type { InputFacts } from '../facts.ts';

export class TriggerInput {
  /** Whether the input sees its trigger on. */
  on = false;
  /** Whether it went on at this very sample. */
  rose = false;
  /** Whether it went off at this very sample. */
  fell = false;

  // A switch input fires downwards: with both sides negated it is the same comparator.
  private readonly sign: number;
  private readonly onVolts: number;
  private readonly offVolts: number;
  /** Samples the pulse must have lasted, this one included. */
  private readonly needed: number;
  private lasted = 0;

  /**
   * @param facts of an input that has `trigger` facts.
   * @param sampleRate Hz.
   * @throws Error if the facts have no trigger (a mistake in a module's definition).
   */
  constructor(facts: InputFacts, sampleRate: number) {
    const trigger = facts.trigger;
    if (trigger === undefined) throw new Error('a trigger input needs trigger facts');
    this.sign = trigger.type === 'voltage' ? 1 : -1;
    this.onVolts = this.sign * trigger.on;
    this.offVolts = this.sign * trigger.off;
    this.needed = Math.max(1, Math.round(trigger.shortest * sampleRate));
  }

  /** Whether the volts of the latest sample, were they to stay, would change nothing more. */
  get rests(): boolean {
    return !this.rose && !this.fell && (this.on || this.lasted === 0);
  }

  /** Takes this sample's volts at the jack; afterwards `on`, `rose` and `fell` are up to date. */
  run(volts: number): void {
    const v = this.sign * volts;
    this.rose = false;
    this.fell = false;
    if (this.on) {
      if (v <= this.offVolts) {
        this.on = false;
        this.fell = true;
        this.lasted = 0;
      }
    } else if (v >= this.onVolts) {
      this.lasted += 1;
      if (this.lasted >= this.needed) {
        this.on = true;
        this.rose = true;
      }
    } else {
      this.lasted = 0;
    }
  }
}
