/** Triggered random voltage: see src/modules/random.ts. */
import { Circuit } from './core/circuit';
import { Scheduler } from './core/scheduler';
import { Wire } from './core/wire';
import { Random } from './dsp/random';
import { TriggerInput } from './dsp/trigger-input';

export class TriggeredRandom extends Circuit {
  private readonly triggers: StaticArray<f64>;
  private readonly steppedWire: Wire | null;
  private readonly smoothWire: Wire | null;
  private readonly trigger: TriggerInput;
  private readonly random: Random;
  private readonly range: f64;
  private stepped: f64 = 0;
  private smooth: f64 = 0;
  private start: f64 = 0;
  private passed: f64 = 1;
  private share: f64 = 0;
  private last: f64;
  private since: f64 = Infinity;

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
    this.steppedWire = stepped;
    this.smoothWire = smooth;
    this.range = range;
    this.last = last;
    this.trigger = input;
    this.random = new Random(a, b, c, d);
    this.reads(trigger);
    this.drives(stepped);
    this.drives(smooth);
  }

  process(from: i32, to: i32): void {
    const stepped = this.steppedWire;
    const smooth = this.smoothWire;
    for (let i = from; i < to; i++) {
      this.trigger.run(this.triggers[i]);
      if (smooth != null && this.passed < 1) {
        this.passed += this.share;
        const x = this.passed;
        this.smooth = this.start + (this.stepped - this.start) * (x < 1 ? x * x * (3 - 2 * x) : 1);
      }
      this.since += 1;
      if (this.trigger.rose) {
        if (this.since < Infinity) this.last = this.since;
        this.since = 0;
        this.stepped = this.range * (2 * this.random.uniform() - 1);
        this.start = this.smooth;
        this.passed = 0;
        this.share = 1 / this.last;
      }
      if (stepped != null) stepped.volts[i] = this.stepped * stepped.gain;
      if (smooth != null) smooth.volts[i] = this.smooth * smooth.gain;
    }
  }

  rests(_samples: i32): bool {
    return this.trigger.rests && (this.smoothWire == null || this.passed >= 1);
  }

  skip(samples: i32): void {
    this.since += f64(samples);
  }
}

export function random(
  scheduler: Scheduler,
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
): void {
  scheduler.add(new TriggeredRandom(trigger, stepped, smooth, range, last, input, a, b, c, d));
}
