/** Burst: a run of pulses for each trigger. Equation: src/modules/burst.ts. */

import { PulseSource } from './dsp/pulse-source';

export class Burst extends PulseSource {
  /** Of each pulse, in samples: its length, and the time from its start to the next. */
  private readonly lengths: Array<i32> = [];
  private readonly gaps: Array<i32> = [];

  /** The index of the next pulse; past the last, none is to come. */
  private pulse: i32 = 0;
  /** Samples to the next pulse. */
  private wait: i32 = 0;

  /** Adds a pulse, to be called for each in turn, in samples: its length, and the gap from its start to the next. */
  plug(length: i32, gap: i32): void {
    this.lengths.push(length);
    this.gaps.push(gap);
    this.pulse = this.gaps.length;
  }

  process(from: i32, to: i32): void {
    const triggers = this.triggers;
    const out = this.out.volts;
    const high = this.level * this.out.gain;
    const trigger = this.trigger;
    const timer = this.timer;
    const pulses = this.gaps.length;
    let pulse = this.pulse;
    let wait = this.wait;
    for (let i = from; i < to; i++) {
      trigger.run(triggers[i]);
      timer.run();
      if (trigger.rose) {
        pulse = 0;
        wait = 0;
      }
      if (pulse < pulses) {
        if (wait == 0) {
          timer.start(this.lengths[pulse]);
          wait = this.gaps[pulse];
          pulse += 1;
        }
        wait -= 1;
      }
      out[i] = timer.on ? high : 0;
    }
    this.pulse = pulse;
    this.wait = wait;
  }

  rests(samples: i32): bool {
    const waits = this.pulse == this.gaps.length || this.wait >= samples;
    return waits && super.rests(samples);
  }

  skip(samples: i32): void {
    super.skip(samples);
    if (this.pulse < this.gaps.length) this.wait -= samples;
  }
}

export function burstPulse(burst: Burst, length: i32, gap: i32): void {
  burst.plug(length, gap);
}
