/** Random: a new voltage at each trigger or by a clock of its own. Equations: src/modules/random.ts. */

import { Circuit } from './core/circuit';
import { gainOf, voltsOf, Wire } from './core/wire';
import { Random } from './dsp/random';
import { TriggerInput } from './dsp/trigger-input';

/** Draws the voltages, and gives the curve from each to the next. */
class Voltages {
  /** V, as is smooth. */
  stepped: f64 = 0;
  smooth: f64 = 0;
  private readonly range: f64;
  private readonly random: Random;
  private readonly joins: bool;
  private start: f64 = 0;
  /** Share of the way that has passed, and its increase with each sample. */
  private passed: f64 = 1;
  private share: f64 = 0;

  /** @param joins whether anything listens to the curve. */
  constructor(range: f64, joins: bool, random: Random) {
    this.range = range;
    this.joins = joins;
    this.random = random;
  }

  /** Whether both voltages stay as they are until the next is drawn. */
  get rests(): bool {
    return !this.joins || this.passed >= 1;
  }

  /** Draws a new voltage at this very sample, to be reached in so many samples. */
  draw(samples: f64): void {
    // A range of 0 V gives 0 V, never -0 V: it may be skipped.
    this.stepped = this.range * (2 * this.random.uniform() - 1) + 0;
    this.start = this.smooth;
    this.passed = 0;
    this.share = 1 / samples;
  }

  /** Lets one sample go by. */
  run(): void {
    if (this.rests) return;
    this.passed += this.share;
    const x = this.passed;
    const part = x < 1 ? x * x * (3 - 2 * x) : 1;
    this.smooth = this.start + (this.stepped - this.start) * part;
  }
}

/** Draws at each trigger. */
export class TriggeredRandom extends Circuit {
  private readonly triggers: StaticArray<f64>;
  // An output that nobody listens to has no wire.
  private readonly stepped: Wire | null;
  private readonly smooth: Wire | null;
  private readonly trigger: TriggerInput;
  private readonly voltages: Voltages;
  /** Samples the last step took, and samples since. */
  private last: f64;
  private since: f64 = Infinity;

  /** @param last samples that the first curve takes; each later one takes as long as the step before. */
  constructor(
    trigger: Wire,
    stepped: Wire | null,
    smooth: Wire | null,
    range: f64,
    last: f64,
    input: TriggerInput,
    a: i32,
    b: i32,
    c: i32,
    d: i32,
  ) {
    super();
    this.triggers = trigger.volts;
    this.stepped = stepped;
    this.smooth = smooth;
    this.last = last;
    this.trigger = input;
    this.voltages = new Voltages(range, smooth != null, new Random(a, b, c, d));
    this.reads(trigger);
    this.drives(stepped);
    this.drives(smooth);
  }

  process(from: i32, to: i32): void {
    const triggers = this.triggers;
    const stepped = voltsOf(this.stepped);
    const smooth = voltsOf(this.smooth);
    const steppedGain = gainOf(this.stepped);
    const smoothGain = gainOf(this.smooth);
    const trigger = this.trigger;
    const voltages = this.voltages;
    let since = this.since;
    for (let i = from; i < to; i++) {
      trigger.run(triggers[i]);
      voltages.run();
      since += 1;
      if (trigger.rose) {
        if (since < Infinity) this.last = since;
        since = 0;
        voltages.draw(this.last);
      }
      stepped[i] = voltages.stepped * steppedGain;
      smooth[i] = voltages.smooth * smoothGain;
    }
    this.since = since;
  }

  rests(_samples: i32): bool {
    return this.trigger.rests && this.voltages.rests;
  }

  skip(samples: i32): void {
    this.since += f64(samples);
  }
}

/** Draws `rate` times a second. */
export class FreeRandom extends Circuit {
  // An output that nobody listens to has no wire.
  private readonly stepped: Wire | null;
  private readonly smooth: Wire | null;
  private readonly voltages: Voltages;
  private readonly sampleRate: f64;
  private readonly rate: f64;
  private drawn: f64 = 0;
  /** Samples since the start, and how many it will be when the next voltage is drawn. */
  private now: f64 = 0;
  private next: f64 = 0;

  constructor(
    stepped: Wire | null,
    smooth: Wire | null,
    range: f64,
    rate: f64,
    sampleRate: f64,
    a: i32,
    b: i32,
    c: i32,
    d: i32,
  ) {
    super();
    this.stepped = stepped;
    this.smooth = smooth;
    this.rate = rate;
    this.sampleRate = sampleRate;
    this.voltages = new Voltages(range, smooth != null, new Random(a, b, c, d));
    this.drives(stepped);
    this.drives(smooth);
  }

  process(from: i32, to: i32): void {
    const stepped = voltsOf(this.stepped);
    const smooth = voltsOf(this.smooth);
    const steppedGain = gainOf(this.stepped);
    const smoothGain = gainOf(this.smooth);
    const voltages = this.voltages;
    let now = this.now;
    for (let i = from; i < to; i++) {
      voltages.run();
      if (now == this.next) {
        this.drawn += 1;
        // Worked out from the start, so that its clock does not drift.
        this.next = Math.round((this.drawn * this.sampleRate) / this.rate);
        voltages.draw(this.next - now);
      }
      now += 1;
      stepped[i] = voltages.stepped * steppedGain;
      smooth[i] = voltages.smooth * smoothGain;
    }
    this.now = now;
  }

  rests(samples: i32): bool {
    return this.voltages.rests && this.now + f64(samples) <= this.next;
  }

  skip(samples: i32): void {
    this.now += f64(samples);
  }
}
